"""The shop's own codes, eight characters with a check, and foreign check characters."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from inventory.errors import Refused
from inventory.trade import spelling

TYPES: Mapping[str, str] = MappingProxyType(
    {
        "B": "bin",
        "T": "tool",
        "S": "assembly",
        "C": "action",
        "N": "quantity",
        "P": "place",
        "H": "person",
        "R": "order",
        "K": "item",
    }
)
_OWN = re.compile(rf"X([{''.join(TYPES)}])([0-9]{{4}})([0-9]{{2}})")
_DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
LARGEST = 9999


@dataclass(frozen=True, slots=True)
class OwnCode:
    """One of the shop's own codes: its type's letter, its number, all eight."""

    type: str
    number: int
    code: str


def check_digits(body: str) -> str:
    """The two ISO/IEC 7064 MOD 97-10 check digits of letters and digits: 02 to 98."""
    return f"{98 - _as_number(body) * 100 % 97:02d}"


def _as_number(text: str) -> int:
    """Letters become 10 to 35; other characters are a ValueError."""
    return int("".join(str(_DIGITS.index(character)) for character in text))


def mod_97_10_valid(text: str) -> bool:
    """Whether letters and digits end in their ISO/IEC 7064 MOD 97-10 check."""
    return _only_alphanumeric(text) and _as_number(text) % 97 == 1


def mod_37_36_valid(text: str) -> bool:
    """Whether letters and digits end in their ISO/IEC 7064 MOD 37,36 check."""
    return _only_alphanumeric(text) and text[-1] == mod_37_36_check(text[:-1])


def mod_37_36_check(body: str) -> str:
    """The ISO/IEC 7064 MOD 37,36 check character of upper-case letters and digits."""
    rest = 36
    for character in body:
        rest = (rest + _DIGITS.index(character)) % 36 or 36
        rest = rest * 2 % 37
    return _DIGITS[(37 - rest) % 36]


def _only_alphanumeric(text: str) -> bool:
    return len(text) > 2 and all(character in _DIGITS for character in text)


def make(letter: str, number: int) -> str:
    """The own code of a type's letter and a number from 0 to 9999: 'XB004209'.

    Raises Refused code.impossible.
    """
    if letter not in TYPES or not 0 <= number <= LARGEST:
        raise Refused(
            "code.impossible",
            f"Expected a letter of {''.join(TYPES)} and a number from 0 to {LARGEST}; "
            f"got '{letter}' and {number}.",
            {"letter": letter, "number": number},
        )
    body = f"X{letter}{number:04d}"
    return body + check_digits(body)


def read(text: str) -> OwnCode:
    """An own code; lower case, blanks and hyphens are forgiven.

    Raises Refused code.shape for anything that is no own code, and code.check for
    one whose check characters are wrong.
    """
    cleaned = spelling.tight(text)
    match = _OWN.fullmatch(cleaned)
    if match is None:
        raise Refused(
            "code.shape",
            f"Expected a code of the shop such as XB004209; got '{text}'.",
            {"text": text},
        )
    if match[3] != check_digits(cleaned[:6]):
        raise Refused(
            "code.check",
            f"The check characters of {in_the_clear(cleaned)} are wrong: one character "
            "was misread or mistyped; scan again.",
            {"text": text, "code": cleaned},
        )
    return OwnCode(match[1], int(match[2]), cleaned)


def in_the_clear(code: str) -> str:
    """An own code as people read it: 'XB004209' is printed 'XB 0042-09'."""
    return f"{code[:2]} {code[2:6]}-{code[6:]}"
