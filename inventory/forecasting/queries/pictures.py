"""What the forecast's pictures show, as figures: a run-out, the pool, bits' wear."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.catalog.models import Item
from inventory.forecasting.models import Bit
from inventory.forecasting.queries.readiness import Readiness, beliefs
from inventory.forecasting.queries.tools import bits, holds, holes_on, pools
from inventory.forecasting.rules.lines import ItemLine
from inventory.forecasting.rules.pool import peak
from inventory.forecasting.rules.use import Use
from inventory.people.queries import shop
from inventory.planning.queries import asked_at_once, current_build, dated

SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)


@dataclass(frozen=True)
class LeftAfter:
    """What is left of an item when a stage ends: at each of SHARES, in units.

    The first is what 19 in 20 builders would still have at least, counted down: under
    nought is what they would lack.
    """

    stage: str
    day: date
    left: tuple[int, ...]

    @property
    def shown(self) -> list[tuple[int, float]]:
        """Each with its share, for a table."""
        return list(zip(self.left, SHARES, strict=True))


def run_out(found: Readiness, item: Item) -> list[LeftAfter]:
    """An item's stock through the stages that ask for it, as a fan of chances."""
    belief, most = beliefs([item])[item.pk], asked_at_once().get(item.pk)
    rows = []
    for row in found.stages:
        for line in row.lines:
            if (
                not isinstance(line, ItemLine)
                or line.item_id != item.pk
                or not line.need
            ):
                continue
            use = Use(line.through, belief, most)
            here = line.on_hand + line.due - line.through
            left = tuple(here - use.at(share) for share in reversed(SHARES))
            rows.append(LeftAfter(row.stage.name, row.dates.end, left))
    return rows


@dataclass(frozen=True)
class PoolDays:
    """One size of temporary fastener: what is owned, and what is held from each day."""

    size: str
    owned: int
    held: Sequence[tuple[date, int]]


def pool_days(today: date) -> list[PoolDays]:
    """Every size through the days on which its hold changes."""
    build = current_build()
    found = holds(build, dated(build, today, shop().pace_days))
    own = pools()
    result = []
    for size, rows in sorted(found.items()):
        days = sorted({hold.start for hold in rows} | {hold.end for hold in rows})
        held = [
            (day, sum(hold.quantity for hold in rows if hold.start <= day < hold.end))
            for day in days
        ]
        result.append(PoolDays(size, own.get(size, (0, 0))[0], held))
    return result


@dataclass(frozen=True)
class FreeFirst:
    """An assembly to rivet first: so many of a size come back on a day."""

    size: str
    assembly_id: int
    quantity: int
    day: date


def free_first(today: date) -> list[FreeFirst]:
    """Of each size that is short at its peak, the hold that frees most the soonest."""
    build = current_build()
    found, own = holds(build, dated(build, today, shop().pace_days)), pools()
    result = []
    for size, rows in found.items():
        top = peak(rows)
        if top.day is None or top.quantity <= own.get(size, (0, 0))[0]:
            continue
        there = [hold for hold in rows if hold.start < top.day < hold.end]
        if there:
            best = max(there, key=lambda hold: (hold.quantity, -hold.end.toordinal()))
            result.append(
                FreeFirst(size, best.assembly_id, best.quantity, top.day - timedelta(1))
            )
    return result


def wear() -> list[tuple[Bit, float]]:
    """Every bit with the equivalent holes on it."""
    return [(bit, holes_on(bit)) for bit in bits() if not bit.is_broken]
