"""What the forecast's pictures show, as figures: a run-out, the pool, wear, neighbours."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from inventory.catalog.models import Item
from inventory.catalog.queries import lengths_of
from inventory.forecasting.models import Bit
from inventory.forecasting.queries.readiness import Readiness, beliefs, shop_learned
from inventory.forecasting.queries.tools import bits, holds, holes_on, pools
from inventory.forecasting.rules.lines import ItemLine
from inventory.forecasting.rules.pool import Hold, peak
from inventory.forecasting.rules.spoilage import Beta
from inventory.forecasting.rules.use import Use
from inventory.ledger.queries import in_bins
from inventory.ledger.queries.counts import found_of
from inventory.ordering.queries import due
from inventory.people.queries import shop
from inventory.planning.models import Assembly
from inventory.planning.queries import (
    asked_at_once,
    current_build,
    dated,
    remaining_by_stage,
)
from inventory.planning.queries.spoilage import spoilage_record

SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)


@dataclass(frozen=True)
class Parcel:
    """Pieces of an item that are expected on a day."""

    day: date
    pieces: int


@dataclass(frozen=True)
class LeftAfter:
    """What is left of an item when a stage ends: at each of SHARES, in units.

    The first is what 19 in 20 builders would still have at least, counted down: under
    nought is what they would lack. `came` is what had come of the parcels by then.
    """

    stage: str
    day: date
    left: tuple[int, ...]
    came: int

    @property
    def shown(self) -> list[tuple[int, float]]:
        """Each with its share, for a table."""
        return list(zip(self.left, SHARES, strict=True))


@dataclass(frozen=True)
class RunOut:
    """An item from today on: what is here, what comes, what is left by stage."""

    today: date
    on_hand: int
    parcels: Sequence[Parcel]
    rows: Sequence[LeftAfter]

    def through(self, at: int) -> list[tuple[date, float]]:
        """What is left day by day at one of SHARES: even use, and parcels at once.

        A parcel's day stands twice, before it and after it.
        """
        used = [(self.today, 0)]
        for row in self.rows:
            used.append((row.day, self.on_hand + row.came - row.left[at]))
        last = used[-1][0]
        found: list[tuple[date, float]] = []
        for day in sorted({day for day, _used in used} | {p.day for p in self.parcels}):
            if day > last:
                break
            before = sum(p.pieces for p in self.parcels if p.day < day)
            today = sum(p.pieces for p in self.parcels if p.day == day)
            left = self.on_hand + before - _at(used, day)
            found += [(day, left), (day, left + today)] if today else [(day, left)]
        return found


def _at(points: Sequence[tuple[date, int]], day: date) -> float:
    """Between two points the way is straight; of several on one day the last counts."""
    for (start, low), (end, high) in reversed(list(pairwise(points))):
        if start <= day <= end:
            whole = (end - start).days
            return low + (high - low) * ((day - start).days / whole if whole else 1)
    return points[0][1]


def run_out(found: Readiness, item: Item) -> RunOut:
    """An item's stock through the stages that ask for it, as a fan of chances."""
    belief, most = beliefs([item])[item.pk], asked_at_once().get(item.pk)
    parcels = sorted(
        (
            Parcel(row.on, row.pieces)
            for row in due(found.today)
            if row.item_id == item.pk
        ),
        key=lambda parcel: parcel.day,
    )
    on_hand, rows = in_bins().get(item.pk, 0), []
    for row in found.stages:
        for line in row.lines:
            if (
                not isinstance(line, ItemLine)
                or line.item_id != item.pk
                or not line.need
            ):
                continue
            use, end = Use(line.through, belief, most), row.dates.end
            came = sum(each.pieces for each in parcels if each.day <= end)
            here = on_hand + came - line.through
            left = tuple(here - use.at(share) for share in reversed(SHARES))
            rows.append(LeftAfter(row.stage.name, end, left, came))
    return RunOut(found.today, on_hand, parcels, rows)


@dataclass(frozen=True)
class HeldBy:
    """An assembly that holds temporary fasteners from a day until before another."""

    assembly: Assembly
    quantity: int
    start: date
    end: date


@dataclass(frozen=True)
class PoolDays:
    """One size of temporary fastener: what is owned, and what is held from each day.

    `by` are the assemblies that hold it, the first to begin first.
    """

    size: str
    owned: int
    held: Sequence[tuple[date, int]]
    by: Sequence[HeldBy]


def pool_days(today: date) -> list[PoolDays]:
    """Every size through the days on which its hold changes."""
    build = current_build()
    found = holds(build, dated(build, today, shop().pace_days))
    own, names = pools(), _assemblies(found.values())
    result = []
    for size, rows in sorted(found.items()):
        days = sorted({hold.start for hold in rows} | {hold.end for hold in rows})
        held = [
            (day, sum(hold.quantity for hold in rows if hold.start <= day < hold.end))
            for day in days
        ]
        by = [
            HeldBy(names[hold.assembly_id], hold.quantity, hold.start, hold.end)
            for hold in sorted(rows, key=lambda hold: (hold.start, hold.assembly_id))
        ]
        result.append(PoolDays(size, own.get(size, (0, 0))[0], held, by))
    return result


def _assemblies(holds: Iterable[Sequence[Hold]]) -> dict[int, Assembly]:
    wanted = {hold.assembly_id for rows in holds for hold in rows}
    return Assembly.objects.select_related("stage").in_bulk(list(wanted))


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


@dataclass(frozen=True)
class LengthStock:
    """One length of a part beside its neighbours: asked for, here, due.

    `found` is what counts found of it beyond the record in all, under nought what they
    missed: where one length lacks what the next has over, a tin was mixed up.
    """

    item: Item
    need: int
    here: int
    due: int
    found: int

    @property
    def missing(self) -> int:
        """What counts missed of it."""
        return max(0, -self.found)

    @property
    def lacks(self) -> int:
        """What is neither here nor due of what the plan still asks."""
        return max(0, self.need - self.here - self.due)


def neighbours(item: Item, today: date) -> list[LengthStock]:
    """Every length of an item's part that is stocked or asked for, the shortest first.

    None where there is no other length of it.
    """
    needs: dict[int, int] = {}
    for items in remaining_by_stage(current_build()).values():
        for pk, left in items.items():
            needs[pk] = needs.get(pk, 0) + left
    here, away = in_bins(), due(today)
    lengths = lengths_of(item)
    found = found_of([each.pk for each in lengths])
    rows = [
        LengthStock(
            each,
            needs.get(each.pk, 0),
            here.get(each.pk, 0),
            sum(row.pieces for row in away if row.item_id == each.pk),
            found.get(each.pk, 0),
        )
        for each in lengths
    ]
    asked = [row for row in rows if row.need or row.here or row.due or row.item == item]
    return asked if len(asked) > 1 else []


@dataclass(frozen=True)
class SpoiltAt:
    """What was set well and spoilt of one class in one assembly, when it was closed."""

    day: date
    good: int
    bad: int

    @property
    def share(self) -> float:
        """Of all that was set or spoilt, the part that was spoilt."""
        return self.bad / (self.good + self.bad)


@dataclass(frozen=True)
class SpoilageDays:
    """One class of item through time, and the share of ordinary work believed today."""

    name: str
    expected: float
    closed: Sequence[SpoiltAt]

    @property
    def percent(self) -> float:
        """Of a hundred pieces, those expected to be spoilt."""
        return self.expected * 100


def spoilage_days() -> list[SpoilageDays]:
    """Spoilage of every class of which an assembly was closed, the most set first."""
    known = shop_learned()
    classes = dict(
        Item.objects.exclude(spoilage_class="").values_list("pk", "spoilage_class")
    )
    days: dict[str, dict[date, list[int]]] = {}
    for row in spoilage_record():
        if row.closed_on is None or row.item_id not in classes:
            continue
        sums = days.setdefault(classes[row.item_id], {}).setdefault(
            row.closed_on, [0, 0]
        )
        sums[0] += row.good
        sums[1] += row.bad
    found = []
    for name, rows in days.items():
        belief = known.of(name)
        closed = [SpoiltAt(day, *sums) for day, sums in sorted(rows.items())]
        rate = Beta(belief.good, belief.bad).rate
        found.append(SpoilageDays(name, rate, closed))
    return sorted(found, key=lambda row: -sum(each.good for each in row.closed))
