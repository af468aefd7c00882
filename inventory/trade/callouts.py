"""A part number as a drawing writes it, read into one part and plain words."""

import re
from collections.abc import Callable
from contextlib import suppress

from inventory.errors import Refused
from inventory.trade import bolts, hardware, rivets, spelling, tables
from inventory.trade.bolts import bolt_grip
from inventory.trade.reading import Part, Reading, refusal
from inventory.trade.sizes import print_size

__all__ = ["Reading", "bolt_grip", "neighbours", "parse", "rivet_class"]

_READERS: dict[str, Callable[[Part], Reading]] = {
    "rivet": rivets.solid,
    "blind": rivets.blind,
    "pin": rivets.pin,
    "screw_thread": hardware.screw_thread,
    "screw_dash": hardware.screw_dash,
    "screw_ms27039": hardware.screw_ms27039,
    "nut_thread": hardware.nut_thread,
    "nut_sixteenth": hardware.nut_sixteenth,
    "washer_an960": hardware.washer_an960,
    "washer_nas1149": hardware.washer_nas1149,
    "cotter": hardware.cotter,
    "cotter_dash": hardware.cotter_dash,
}
_LONGEST_TEXT = 64
_SPLIT = re.compile(r"(?P<series>NASM|NAS|AN|MS)?-?(?P<number>[0-9]+)(?P<tail>.*)")
# A standard without a rule here is kept as it came: AN clamps and turnbuckles, MS and
# NAS parts. Shorter numbers are more likely a callout broken off.
_KEPT = re.compile(
    r"(AN[0-9]{2,4}|MS[0-9]{5}|NASM?[0-9]{2,5}|AS[0-9]{3,5}|AND[0-9]{5})[A-Z0-9./-]*"
)
_EXPECTED = "a callout such as MS20470AD4-5, AN3-4A, AN960-10 or MS21042-3"


def parse(text: str) -> Reading:
    """Read a callout; lower case, spaces and typographic dashes are forgiven.

    A part number of a standard without a rule here comes back as kind 'other'.
    Raises Refused callout.unknown, callout.incomplete (something is missing),
    callout.impossible (no such size) or callout.unknown_dash (a table known only in
    part). Sources and their marks stand in the reading.
    """
    if len(text) > _LONGEST_TEXT:
        raise refusal("unknown", text[:_LONGEST_TEXT], _EXPECTED)
    cleaned = spelling.callout(text)
    match = _SPLIT.fullmatch(cleaned)
    if match is None:
        return _kept(text, cleaned)
    series, number, tail = match["series"] or "", match["number"], match["tail"]
    if series == "AN" and len(number) <= 2 and int(number) in bolts.SIZES:
        return bolts.bolt(text, f"AN{int(number)}", tail)
    row = tables.index("standards", "standard").get((_standard(series, number),))
    if row is None:
        return _kept(text, cleaned)
    return _READERS[row["grammar"]](Part(text, row, tail))


def _standard(series: str, number: str) -> str:
    """The standard's full name; a rivet's number alone says which it is."""
    if series:
        return series + number
    for candidate in (f"MS20{number}", f"MS{number}", f"NAS{number}"):
        row = tables.index("standards", "standard").get((candidate,))
        if row and row["kind"] == "solid_rivet":
            return candidate
    return ""


def _kept(text: str, cleaned: str) -> Reading:
    """A part of a standard without a rule: kept as written, nothing claimed."""
    match = _KEPT.fullmatch(cleaned)
    if match is None:
        raise refusal("unknown", text, _EXPECTED)
    return Reading(
        kind="other",
        standard=match[1],
        callout=cleaned,
        key=cleaned,
        words=cleaned,
        meaning=f"No rule here reads {cleaned}; it is kept as written.",
    )


def neighbours(reading: Reading) -> tuple[str, ...]:
    """Keys of the look-alikes one step shorter and longer, where such parts exist.

    Half a sixteenth for a solid rivet, an eighth for a bolt; nothing for the rest.
    """
    if reading.kind == "solid_rivet":
        return _keys(rivets.beside(reading))
    if reading.kind == "bolt":
        return _keys(bolts.beside(reading))
    return ()


def _keys(callouts: tuple[str, ...]) -> tuple[str, ...]:
    found = []
    for callout in callouts:
        # A step past the shortest or longest size is no part at all.
        with suppress(Refused):
            found.append(parse(callout).key)
    return tuple(found)


def rivet_class(reading: Reading) -> str:
    """The class pieces are spoiled by: '3/32 flush', '3/16 bolt', '8-32 screw'."""
    size = print_size(reading.diameter_in) if reading.diameter_in else ""
    if reading.kind in {"screw", "nut"}:
        size = reading.thread
    names = {
        "solid_rivet": reading.head,
        "blind_rivet": f"blind {reading.head}",
        "pin_rivet": f"pin rivet {reading.head}",
    }
    return f"{size} {names.get(reading.kind, reading.kind)}".strip()
