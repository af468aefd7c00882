"""ISO/IEC 15434 envelopes: '[)>' RS format GS field GS ... RS EOT.

No well kept library was found. Real printers leave marks out and print control
characters as visible signs: that is accepted and named, never passed over.
"""

import re

from inventory.errors import Refused
from inventory.trade.bags.elements import elements
from inventory.trade.bags.identifiers import (
    data_field,
    meant_by_data,
    meant_by_text,
    text_field,
)
from inventory.trade.bags.shape import EOT, GS, RS, Contents, Field, Marking

HEADER = "[)>"
ELEMENTS, DATA, TEXT = "05", "06", ("12", "DD")
_KNOWN = ("01", "02", "03", "04", "05", "06", "07", "08", "09", "12", "DD")

# Control characters that a scanner or a printer made visible.
_VISIBLE = {
    GS: ("<GS>", "{GS}", "[GS]", "␝", "^]"),
    RS: ("<RS>", "{RS}", "[RS]", "␞", "^^"),
    EOT: ("<EOT>", "{EOT}", "[EOT]", "␄", "^D"),
}


def envelope(text: str) -> Marking | None:
    """The marking in an envelope; None for a text without the envelope's header.

    Errors: `bag.format` for a format nobody knows, `bag.empty`, `bag.gs1`.
    """
    before, header, rest = text.partition(HEADER)
    if not header:
        return None
    faults: list[str] = []
    if before.strip():
        faults.append(f"'{before.strip()[:20]}' stands before the code: left out")
    rest = _with_control_characters(rest, faults)
    body, closed = _body(rest, faults)
    indicator, fields, contents = _read(body, faults)
    return Marking(
        kind="iso15434",
        format=indicator,
        fields=tuple(fields),
        contents=contents,
        faults=tuple(faults),
        whole=closed,
    )


def _with_control_characters(text: str, faults: list[str]) -> str:
    for control, signs in _VISIBLE.items():
        for sign in signs:
            if sign in text and control not in text:
                text = text.replace(sign, control)
                faults.append(f"'{sign}' was printed for a separator: read as one")
    if GS not in text and "|" in text:
        text = text.replace("|", GS)
        faults.append("'|' stands for a separator: read as one")
    return text


def _body(rest: str, faults: list[str]) -> tuple[str, bool]:
    """What stands between header and closing mark, and whether that mark is there."""
    closed = EOT in rest
    body, _eot, after = rest.partition(EOT)
    if after.strip("\r\n \t"):
        faults.append(f"'{after.strip()[:20]}' stands after the code: left out")
    if not body.startswith(RS):
        faults.append("the separator after the header is missing")
    if not closed:
        faults.append("the closing mark is missing: the end may be cut off")
    elif not body.endswith(RS):
        faults.append("the separator before the closing mark is missing")
    return body.strip(RS + "\r\n"), closed


def _read(body: str, faults: list[str]) -> tuple[str, list[Field], Contents]:
    """The first format that says something of the bag; others are named."""
    found: tuple[str, list[Field], Contents] | None = None
    for part in (each for each in body.split(RS) if each):
        indicator, inside = part[:2].upper(), part[2:]
        if indicator not in _KNOWN:
            raise Refused(
                "bag.format",
                f"'{indicator}' is no format of ISO/IEC 15434, so nothing was taken from "
                "this code: scan it again, or key what the bag says.",
                {"format": indicator},
            )
        if not inside.startswith(GS):
            faults.append("the separator after the format is missing")
        read = (indicator, *_fields(indicator, inside.strip(GS), faults))
        if found is None:
            found = read
        elif read[1]:
            faults.append(f"a second part, format {indicator}, was left out")
    if found is None or not found[1]:
        raise Refused(
            "bag.empty",
            "The code's envelope holds no field: scan it again, or key what the bag "
            "says.",
        )
    return found


def _fields(
    indicator: str, inside: str, faults: list[str]
) -> tuple[list[Field], Contents]:
    if indicator == ELEMENTS:
        marking = elements(inside, "]C1")
        if marking is not None:
            return list(marking.fields), marking.contents
    texts = inside.split(GS)
    if indicator in TEXT:
        fields = [_one(each, text_field(each), faults) for each in texts]
        known = [each for each in fields if each]
        return known, meant_by_text(known)
    if indicator == DATA:
        fields = [_one(each, data_field(each), faults) for each in texts]
        known = [each for each in fields if each]
        return known, meant_by_data(known)
    return [("", each) for each in texts if each], Contents()


def _one(text: str, found: Field | None, faults: list[str]) -> Field | None:
    """A field, or None with the fault named: empty, without identifier, no value."""
    if not text.strip():
        faults.append("an empty field was left out")
    elif found is None:
        shown = re.sub(r"[^ -~]", "?", text[:40])
        faults.append(f"'{shown}' begins with no identifier we know: left out")
    elif not found[1].strip():
        faults.append(f"field {found[0]} is empty: left out")
        return None
    return found
