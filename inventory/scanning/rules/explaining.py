"""What one scanned string is, said in full: for scripts, and for whoever asks why."""

from typing import Any

from inventory.errors import Refused
from inventory.scanning.rules import reading
from inventory.trade import callouts, codes
from inventory.trade.bags.reading import marking_of, without_identifier
from inventory.trade.bags.shape import Marking

Explained = dict[str, Any]

_TYPED = {reading.NUMBER: "number", reading.BIN: "typed bin"}


def explained(text: str) -> Explained:
    """What a string is, as data: its `kind` and its fields.

    Kinds: 'own code', 'address', 'typed bin', 'number', 'gs1', 'iso15434',
    'text element', 'part number', 'unknown'. Errors: `scan.*`, `code.check`, `bag.*`.
    """
    code = reading.read_code(text)
    if code.type == reading.FOREIGN:
        return _foreign(text)
    plain = without_identifier(text.strip())[1]
    if code.type == reading.NUMBER:
        return {"kind": "number", "number": code.number if code.number >= 0 else plain}
    own = codes.make(code.type, code.number)
    said: Explained = {
        "kind": "own code",
        "code": own,
        "type": codes.TYPES[code.type],
        "number": code.number,
    }
    if reading.last_segment(plain):
        return {**said, "kind": "address", "address": plain}
    looks_typed = plain[:1].upper() != "X"
    return {**said, "kind": "typed bin"} if looks_typed else said


def _foreign(text: str) -> Explained:
    marking = marking_of(text)
    if marking is not None:
        return as_data(marking)
    found = callouts.readings(without_identifier(text.strip())[1])
    if found.found:
        return {
            "kind": "part number",
            "callouts": [each.callout for each in found.found],
            "words": [each.words for each in found.found],
        }
    return {
        "kind": "unknown",
        "hint": "Scan it while receiving to teach it once, or type the callout.",
    }


def as_data(marking: Marking) -> Explained:
    """A bag's code as data; `contents` holds only what it says."""
    contents = marking.contents
    said = {
        "parts": list(contents.parts),
        "quantity": contents.quantity,
        "unit": contents.unit,
        "grams": contents.grams,
        "lot": contents.lot,
        "serial": contents.serial,
        "order": contents.order,
        "expires": contents.expires.isoformat() if contents.expires else "",
        "supplier": contents.supplier,
    }
    return {
        "kind": marking.kind,
        "format": marking.format,
        "identifier": marking.identifier,
        "fields": [list(each) for each in marking.fields],
        "contents": {name: value for name, value in said.items() if value},
        "faults": list(marking.faults),
        "whole": marking.whole,
    }


def refused(error: Refused) -> Explained:
    """A refusal in the same shape: its code, its sentence, what is known."""
    kind = "own code" if error.code.startswith("code.") else "unreadable"
    if error.code.startswith("bag."):
        kind = "gs1" if error.code == "bag.gs1" else "iso15434"
    return {"kind": kind, "error": {"code": error.code, "sentence": error.sentence}}
