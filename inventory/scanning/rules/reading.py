"""One string, from a scanner, a photo or a finger, becomes one code."""

import re
from dataclasses import dataclass
from urllib.parse import urlsplit

from inventory.errors import Refused
from inventory.ledger.rules import fingerprint
from inventory.scanning.rules.saying import ACTIONS, MAX_SCAN, say
from inventory.trade import codes
from inventory.trade.bags.reading import without_identifier

BIN, ASSEMBLY, ACTION, QUANTITY, TOOL, PERSON, ORDER = "B", "S", "C", "N", "T", "H", "R"
NUMBER, FOREIGN, UNDO = "number", "foreign", "undo"
# What a finger types in place of a label, and a button of the page sends.
_TYPED = {
    BIN: r"(?i)b(?:in)? ?([0-9]{1,4})",
    ORDER: r"(?i)no order|order ([0-9]{1,4})",
    UNDO: r"undo ([0-9]{1,12})",
}


@dataclass(frozen=True)
class Code:
    """What a string means: its type, its number, and the text as it came."""

    type: str
    number: int
    text: str


def read_code(text: str) -> Code:
    """The code in a scan.

    Tried in turn: own code, an address that ends in one, a typed bin ('b42'), a typed
    order ('order 7', or 'no order', which is number 0), 'undo 17' for an act's number, a
    plain number; anything else is foreign and kept. Errors:
    `scan.empty`, `scan.long`, `scan.partial`, `code.check`, `scan.action`.
    """
    if not text.strip():
        raise Refused("scan.empty", say("nothing_came"))
    if len(text) > MAX_SCAN:
        raise too_long()
    # A scanner set to say which symbology it read puts three characters in front.
    identifier, plain = without_identifier(text.strip())
    own = _own(plain) or _own(last_segment(plain))
    if own is not None:
        return own
    _no_partial(plain)
    if identifier:
        return Code(FOREIGN, 0, text)
    for type_, shape in _TYPED.items():
        if typed := re.fullmatch(shape, plain):
            return Code(type_, int(typed[1] or 0), text)
    if re.fullmatch(r"[-+]?[0-9]+([.,][0-9]+)?", plain) and len(plain) <= 12:
        whole = plain.isdigit()
        return Code(NUMBER, int(plain) if whole else -1, text)
    return Code(FOREIGN, 0, text)


def scan_mark(bench: str, raw: str) -> str:
    """The fingerprint of a scan: what came, and at which bench."""
    return fingerprint({"bench": bench, "raw": raw})


def too_long() -> Refused:
    """What to say of more than one label's text."""
    return Refused("scan.long", say("too_long", most=MAX_SCAN))


def _no_partial(plain: str) -> None:
    """A scan that stalled, or two that ran together. Errors: `scan.partial`."""
    bare = re.sub(r"[ -]", "", plain).upper()
    if re.fullmatch(r"X[BTSCNPHRK]?[0-9]{0,7}", bare):
        raise Refused(
            "scan.partial",
            say("part_of_a_code", text=bare),
        )
    if re.fullmatch(r"(X[BTSCNPHRK][0-9]{0,6}){2,}", bare):
        raise Refused(
            "scan.partial",
            say("two_scans"),
        )


def last_segment(text: str) -> str:
    """The end of an address; the address itself is never followed."""
    if not re.match(r"[hH][tT][tT][pP][sS]?://", text):
        return ""
    try:
        return urlsplit(text).path.rstrip("/").rpartition("/")[2]
    except ValueError:
        return ""


def _own(text: str) -> Code | None:
    """An own code, None for what does not look like one. Errors: `code.check`."""
    bare = re.sub(r"[ -]", "", text).upper()
    if not re.fullmatch(r"X[BTSCNPHRK][0-9]{6}", bare):
        return None
    own = codes.read(bare)
    if own.type == ACTION and own.number not in ACTIONS:
        raise Refused("scan.action", say("no_such_card", number=own.number))
    return Code(own.type, own.number, text)
