"""A part number as a drawing writes it, read into one part and plain words."""

import re
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass

from inventory.errors import Refused
from inventory.trade import bolts, hardware, rivets, spelling, tables
from inventory.trade.bolts import bolt_grip
from inventory.trade.reading import Reading, SplitCallout, refusal
from inventory.trade.sizes import print_size

__all__ = [
    "Reading",
    "Readings",
    "also_written",
    "bolt_grip",
    "next_sizes",
    "parse",
    "readings",
    "rivet_class",
]

_READERS: dict[str, Callable[[SplitCallout], Reading]] = {
    "rivet": rivets.solid,
    "blind": rivets.blind,
    "pin": rivets.pin,
    "screw_thread": hardware.screw_thread,
    "screw_dash": hardware.screw_dash,
    "screw_ms27039": hardware.screw_ms27039,
    "screw_unlisted": hardware.screw_unlisted,
    "nut_thread": hardware.nut_thread,
    "nut_sixteenth": hardware.nut_sixteenth,
    "washer_an960": hardware.washer_an960,
    "washer_nas1149": hardware.washer_nas1149,
    "cotter": hardware.cotter,
    "cotter_dash": hardware.cotter_dash,
}
_LONGEST_TEXT = 64
# The series is written: there is one reading at most.
_WHOLE = re.compile(r"\s*(NASM|NAS|AN|MS)[- ]?[0-9]", re.IGNORECASE)
_SPLIT = re.compile(r"(?P<series>NASM|NAS|AN|MS)?-?(?P<number>[0-9]+)(?P<tail>.*)")
# A standard without a rule here is kept as it came: AN clamps and turnbuckles, MS and
# NAS parts. Shorter numbers are more likely a callout broken off.
_KEPT = re.compile(
    r"(AN[0-9]{2,4}|MS[0-9]{5}|NASM?[0-9]{2,5}|AS[0-9]{3,5}|AND[0-9]{5})[A-Z0-9./-]*"
)
_BARE_RIVET = re.compile(r"(?:A|AD|B|D|DD|E|KE|M)-?[0-9]{1,2}(?:-.*)?")
_MS20 = "20"
_EXPECTED = "a callout such as MS20470AD4-5, AN3-4A, AN960-10 or MS21042-3"


@dataclass(frozen=True, slots=True)
class Readings:
    """Every part a text can mean, and why each other candidate fails.

    `failed` pairs a standard with the sentence of its refusal.
    """

    found: tuple[Reading, ...]
    failed: tuple[tuple[str, Refused], ...]


def readings(text: str) -> Readings:
    """All readings of a callout. A text without its series ('470AD4-5', 'AD4-5',
    '960-10') is tried as every standard that it could be short for.

    Never raises: a text that nothing reads has only failures.
    """
    if len(text) > _LONGEST_TEXT:
        return Readings(
            (), (("", refusal("unknown", text[:_LONGEST_TEXT], _EXPECTED)),)
        )
    cleaned = spelling.callout(text)
    found: dict[str, Reading] = {}
    failed: list[tuple[str, Refused]] = []
    for standard, full in _candidates(cleaned):
        try:
            reading = _read(text, full)
        except Refused as error:
            failed.append((standard, error))
        else:
            found.setdefault(reading.key, reading)
    return Readings(tuple(found.values()), tuple(failed))


def _candidates(cleaned: str) -> list[tuple[str, str]]:
    """The standards a text may mean, each with the text written out in full."""
    match = _SPLIT.fullmatch(cleaned)
    if match and not match["series"]:
        number, tail = match["number"], match["tail"]
        short = [(name, name + tail) for name in _standards_numbered(number)]
        return short or _bolt_or_rivet(number, cleaned) or [("", cleaned)]
    if _BARE_RIVET.fullmatch(cleaned):
        return [
            (row["standard"], row["standard"] + cleaned)
            for row in tables.index("standards", "key").values()
            if row["kind"] == "solid_rivet"
        ]
    return [(cleaned[:_LONGEST_TEXT], cleaned)]


def _bolt_or_rivet(number: str, cleaned: str) -> list[tuple[str, str]]:
    """'4-5' is a bolt without its AN, or a rivet's dashes without alloy and standard."""
    bolt = f"AN{int(number)}"
    if (bolt,) not in tables.index("bolts", "standard"):
        return []
    rivets_by_dash = [(name, f"{name}-{cleaned}") for name in ("MS20470", "MS20426")]
    return [(bolt, "AN" + cleaned), *rivets_by_dash]


def _standards_numbered(number: str) -> list[str]:
    """Standards of this number, one for each part: '470' and '20470' are MS20470."""
    return [
        row["standard"]
        for row in tables.index("standards", "key").values()
        if row["standard"].lstrip("ANMS") in (number, _MS20 + number)
    ]


def parse(text: str) -> Reading:
    """Read a callout; lower case, spaces and typographic dashes are forgiven.

    A part number of a standard without a rule here comes back as kind 'other'.
    Raises Refused callout.unknown, callout.incomplete (something is missing),
    callout.impossible (no such size), callout.unknown_dash (a table known only in
    part) or callout.ambiguous. Sources and their marks stand in the reading.
    """
    if _WHOLE.match(text):
        return _read(text, spelling.callout(text))
    every = readings(text)
    return one_of(text, every)


def one_of(text: str, every: Readings) -> Reading:
    """The only reading there is.

    Raises Refused callout.ambiguous where there are several, or where another one
    merely lacks something: '4-5' is a bolt, or a rivet that lacks its alloy. Without
    any reading, raises what the first candidate lacks.
    """
    lacking = [
        (standard, error)
        for standard, error in every.failed
        if error.code == "callout.incomplete"
    ]
    if len(every.found) == 1 and not lacking:
        return every.found[0]
    if not every.found:
        raise every.failed[0][1]
    could_be = [reading.callout for reading in every.found]
    could_be += [f"{standard} with what it lacks" for standard, _ in lacking]
    expected = f"one of {', '.join(could_be)}"
    raise Refused(
        "callout.ambiguous",
        f"'{text}' can mean several parts: expected {expected}.",
        {"text": text, "expected": expected},
    )


def _read(text: str, cleaned: str) -> Reading:
    if len(text) > _LONGEST_TEXT:
        raise refusal("unknown", text[:_LONGEST_TEXT], _EXPECTED)
    match = _SPLIT.fullmatch(cleaned)
    if match is None:
        return _kept(text, cleaned)
    series, number, tail = match["series"] or "", match["number"], match["tail"]
    if series == "AN" and len(number) <= 2 and int(number) in bolts.SIZES:
        return bolts.bolt(text, f"AN{int(number)}", tail)
    row = tables.index("standards", "standard").get((series + number,))
    if row is None:
        return _kept(text, cleaned)
    return _READERS[row["grammar"]](SplitCallout(text, row, tail))


def also_written(text: str) -> list[str]:
    """The callouts of other standards that mean the same part: AN426... and MS20426..."""
    same = tables.index("standards", "standard")
    match = _SPLIT.fullmatch(text)
    row = same.get(((match["series"] or "") + match["number"],)) if match else None
    if match is None or row is None:
        return []
    others = (each["standard"] for each in same.values() if each["key"] == row["key"])
    keys = [each.key for each in readings(text).found]
    return [
        other + match["tail"]
        for other in others
        if other != row["standard"]
        and [each.key for each in readings(other + match["tail"]).found] == keys
    ]


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


def next_sizes(reading: Reading) -> tuple[str, ...]:
    """Keys of the parts one step shorter and longer, where such parts exist.

    Half a sixteenth for a solid rivet, an eighth for a bolt; nothing for the rest.
    """
    if reading.kind == "solid_rivet":
        return _keys(rivets.next_sizes(reading))
    if reading.kind == "bolt":
        return _keys(bolts.next_sizes(reading))
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
