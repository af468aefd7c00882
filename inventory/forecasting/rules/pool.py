"""Temporary fasteners: the peak held at once, against the pool."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil


@dataclass(frozen=True)
class Hold:
    """Fasteners that one assembly holds from a day until before another."""

    assembly_id: int
    stage_id: int
    quantity: int
    start: date
    end: date


@dataclass(frozen=True)
class Peak:
    """The most held at once, the first day of it, and by which assemblies."""

    quantity: int
    day: date | None
    assemblies: tuple[int, ...]


def held_by(
    holes: int, every_nth: int, start: date, days: int, ids: tuple[int, int]
) -> Hold | None:
    """The hold of one row of holes: every n-th fastened, for so many days.

    None where nothing is held. `ids` are the assembly's and the stage's.
    """
    if every_nth <= 0 or days <= 0 or holes <= 0:
        return None
    return Hold(
        ids[0], ids[1], ceil(holes / every_nth), start, start + timedelta(days=days)
    )


def peak(holds: Iterable[Hold]) -> Peak:
    """Half-open holds: one that ends on a day frees its fasteners before that day's.

    Sorting events is O(n log n); equal times take ends before starts.
    """
    rows = list(holds)
    events = sorted(
        [(hold.end, 0, -hold.quantity) for hold in rows]
        + [(hold.start, 1, hold.quantity) for hold in rows]
    )
    most, now, day = 0, 0, None
    for when, _order, change in events:
        now += change
        if now > most:
            most, day = now, when
    return Peak(most, day, _holding(rows, day))


def _holding(rows: Sequence[Hold], day: date | None) -> tuple[int, ...]:
    if day is None:
        return ()
    return tuple(dict.fromkeys(h.assembly_id for h in rows if h.start <= day < h.end))


def peak_by_stage(holds: Sequence[Hold]) -> dict[int, Peak]:
    """The peak while each stage holds anything: only days on which it does."""
    found: dict[int, Peak] = {}
    for stage in dict.fromkeys(hold.stage_id for hold in holds):
        mine = [hold for hold in holds if hold.stage_id == stage]
        first = min(hold.start for hold in mine)
        last = max(hold.end for hold in mine)
        inside = [
            Hold(
                h.assembly_id,
                h.stage_id,
                h.quantity,
                max(h.start, first),
                min(h.end, last),
            )
            for h in holds
            if h.start < last and h.end > first
        ]
        found[stage] = peak(inside)
    return found
