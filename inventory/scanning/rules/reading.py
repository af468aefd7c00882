"""One string, from a scanner, a photo or a finger, becomes one code."""

import re
from dataclasses import dataclass
from urllib.parse import urlsplit

from inventory.errors import Refused
from inventory.trade import codes
from inventory.trade.bags.reading import without_identifier

MAX_SCAN = 512
BIN, ASSEMBLY, ACTION, QUANTITY, TOOL, PERSON, ORDER = "B", "S", "C", "N", "T", "H", "R"
NUMBER, FOREIGN, UNDO = "number", "foreign", "undo"

# Our action cards, in the order of the printed sheet.
ACTIONS = {
    1: "pull",
    2: "return",
    3: "count",
    4: "scrap",
    5: "receive",
    6: "undo",
    7: "cancel",
    8: "leave",
    9: "enter",
    10: "redo",
    11: "reason:repair",
    12: "reason:practice",
    13: "reason:other",
    14: "reason:instead",
    15: "reason:spare",
    16: "reason:elsewhere",
    21: "bit:dull",
    22: "bit:broken",
    23: "bit:resharpened",
    24: "bit:fitted",
}


@dataclass(frozen=True)
class Code:
    """What a string means: its type, its number, and the text as it came."""

    type: str
    number: int
    text: str


def read_code(text: str) -> Code:
    """The code in a scan.

    Order: own code, an address that ends in one, a typed bin ('b42'), 'undo 17' for an
    act's number, a plain number; anything else is foreign and kept. Errors:
    `scan.empty`, `scan.long`, `scan.partial`, `code.check`, `scan.action`.
    """
    if not text.strip():
        raise Refused("scan.empty", "Nothing came: scan again, or type the code.")
    if len(text) > MAX_SCAN:
        raise Refused(
            "scan.long", f"That is more than {MAX_SCAN} characters: scan one label."
        )
    # A scanner set to say which symbology it read puts three characters in front.
    identifier, plain = without_identifier(text.strip())
    own = _own(plain) or _own(last_segment(plain))
    if own is not None:
        return own
    _no_partial(plain)
    if identifier:
        return Code(FOREIGN, 0, text)
    if typed := re.fullmatch(r"[bB] ?([0-9]{1,4})", plain):
        return Code(BIN, int(typed[1]), text)
    if named := re.fullmatch(r"undo ([0-9]{1,12})", plain):
        return Code(UNDO, int(named[1]), text)
    if re.fullmatch(r"[-+]?[0-9]+([.,][0-9]+)?", plain) and len(plain) <= 12:
        whole = plain.isdigit()
        return Code(NUMBER, int(plain) if whole else -1, text)
    return Code(FOREIGN, 0, text)


def _no_partial(plain: str) -> None:
    """A scan that stalled, or two that ran together. Errors: `scan.partial`."""
    bare = re.sub(r"[ -]", "", plain).upper()
    if re.fullmatch(r"X[BTSCNPHRK]?[0-9]{0,7}", bare):
        raise Refused(
            "scan.partial",
            f"Only a part of a code came ('{bare}'): scan again. Nothing was taken.",
        )
    if re.fullmatch(r"(X[BTSCNPHRK][0-9]{0,6}){2,}", bare):
        raise Refused(
            "scan.partial",
            "Two scans ran into each other: scan again. Nothing was taken.",
        )


def last_segment(text: str) -> str:
    """The end of an address; the address itself is never followed."""
    if not re.match(r"[hH][tT][tT][pP][sS]?://", text):
        return ""
    try:
        return urlsplit(text).path.rstrip("/").rsplit("/", 1)[-1]
    except ValueError:
        return ""


def _own(text: str) -> Code | None:
    """An own code, None for what does not look like one. Errors: `code.check`."""
    bare = re.sub(r"[ -]", "", text).upper()
    if not re.fullmatch(r"X[BTSCNPHRK][0-9]{6}", bare):
        return None
    own = codes.read(bare)
    if own.type == ACTION and own.number not in ACTIONS:
        raise Refused("scan.action", f"Action card {own.number} is not in use here.")
    return Code(own.type, own.number, text)
