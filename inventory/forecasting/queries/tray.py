"""Tonight's tray: what a session takes from which bin, in the order one walks."""

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import groupby
from math import floor

from inventory.catalog.models import Item
from inventory.catalog.rules import DRIVEN, HOLDING, ONE_AT_A_TIME
from inventory.forecasting.models import Bit
from inventory.forecasting.queries.readiness import beliefs
from inventory.forecasting.queries.tools import (
    bit_life,
    drill_name,
    equivalent,
    fastener_for,
    fasteners_wanted,
    holes_on,
)
from inventory.forecasting.rules.bits import BitState
from inventory.forecasting.rules.use import Use
from inventory.ledger.queries import Bin, Lot, bins_of, bins_of_kinds, quantities_at
from inventory.ledger.queries.lots import lots_in
from inventory.people.models import Shop
from inventory.planning.models import CLOSED, IN_WORK, Assembly, Build
from inventory.planning.queries import open_assemblies
from inventory.planning.queries.asking import asked_by

# Below this chance that the bit lasts, take a new one along.
DOUBTFUL = 0.9
_There = dict[int, list[tuple[Bin, int]]]


@dataclass(frozen=True)
class Stop:
    """So many to take from one bin that holds `there` by the record.

    `spare` is what is expected to be spoiled, on top: an expectation, not a need.
    """

    bin: Bin
    there: int
    take: int
    names: Sequence[str]
    spare: int = 0


@dataclass(frozen=True)
class Missing:
    """So many that no bin holds by the record."""

    item: Item
    quantity: int
    names: Sequence[str]


@dataclass(frozen=True)
class ToSet:
    """Temporary fasteners of one size still to set, and how many are in the bins."""

    size: str
    quantity: int
    here: int

    @property
    def is_enough(self) -> bool:
        """Whether the bins hold that many."""
        return self.here >= self.quantity


@dataclass(frozen=True)
class Drilled:
    """The holes of one size tonight, in equivalent full ones, and the bit for them.

    `used` is what the fitted bit has drilled, `lasts` the chance that it outlives
    tonight; None without a bit. `fresh` are the bins of new ones.
    """

    size: str
    holes: float
    bit: Bit | None
    used: float
    lasts: float | None
    fresh: Sequence[Bin]

    @property
    def fit_new(self) -> bool:
        """Whether a new bit should be fitted before, not after."""
        return self.lasts is None or self.lasts < DOUBTFUL


@dataclass(frozen=True)
class Mixed:
    """Sealant that the plan asks for, and the lots that may be in its bin."""

    stop: Stop
    lots: Sequence[Lot]
    over: bool


@dataclass(frozen=True)
class Tray:
    """Everything for a session. `places` are racks with their bins as one walks."""

    assemblies: Sequence[Assembly] = ()
    places: Sequence[tuple[str, Sequence[Stop]]] = ()
    missing: Sequence[Missing] = ()
    holds: Sequence[ToSet] = ()
    drills: Sequence[Drilled] = ()
    mixes: Sequence[Mixed] = ()

    @property
    def stops(self) -> list[Stop]:
        """Every bin on the way."""
        return [stop for _place, stops in self.places for stop in stops]

    @property
    def topics(self) -> list[str]:
        """What there is to mind, by the topics of the cautions."""
        kinds = {stop.bin.item.kind for stop in self.stops}
        said = {
            "drilling": bool(self.drills),
            "driving": bool(kinds & DRIVEN),
            "temporary fasteners": bool(self.holds),
            "sealants": bool(self.mixes),
        }
        return [topic for topic, is_so in said.items() if is_so]


@dataclass
class _Want:
    """So many of what any of these items serves, the first of them the usual one."""

    items: list[Item]
    quantity: int = 0
    names: list[str] = field(default_factory=list)


def usual(build: Build | None) -> list[Assembly]:
    """The assemblies in work; with none, the next that is planned."""
    rows = list(open_assemblies(build))
    working = [row for row in rows if row.state == IN_WORK]
    return working or rows[:1]


def tray(assemblies: Sequence[Assembly], settings: Shop, today: date) -> Tray:
    """What these assemblies still ask, hold and drill; closed ones ask nothing."""
    rows = [row for row in assemblies if row.state != CLOSED]
    holding = _holding(rows)
    wants = [*_fasteners(rows), *holding.values()]
    there = _there(item for want in wants for item in want.items)
    spare = _spares(wants)
    stops, missing = _walk(wants, there, spare)
    stops.sort(key=lambda stop: walking(stop.bin.spot, stop.bin.number))
    return Tray(
        assemblies=rows,
        places=[
            (place, list(group))
            for place, group in groupby(stops, key=lambda stop: _rack(stop.bin))
        ],
        missing=missing,
        holds=[_to_set(size, want, there) for size, want in holding.items()],
        drills=_drills(rows, settings),
        mixes=[_mixed(stop, today) for stop in stops if stop.bin.item.sort.mixed],
    )


def _fasteners(assemblies: Sequence[Assembly]) -> list[_Want]:
    """What is still to pull, the same item for several assemblies taken together."""
    wants: dict[int, _Want] = {}
    for assembly in assemblies:
        for row in asked_by(assembly):
            if row.remaining:
                want = wants.setdefault(row.item.pk, _Want([row.item]))
                want.quantity += row.remaining
                want.names.append(assembly.name)
    return list(wants.values())


def _holding(assemblies: Sequence[Assembly]) -> dict[str, _Want]:
    """Temporary fasteners still to set, by their size, in every form that goes through."""
    pool: dict[str, list[Item]] = defaultdict(list)
    rows = filter(lambda row: row.holds_a_hole, Item.objects.filter(kind__in=HOLDING))
    for item in sorted(
        rows, key=lambda row: (row.sort.holding.index(row.form), row.pk)
    ):
        pool[fastener_for(item.size)].append(item)
    wants: dict[str, _Want] = {}
    for assembly in assemblies:
        there = quantities_at([assembly.place_id]) if assembly.place_id else {}
        for size, count in fasteners_wanted(assembly).items():
            set_already = sum(
                there.get((assembly.place_id or 0, item.pk), 0) for item in pool[size]
            )
            if count > set_already:
                want = wants.setdefault(size, _Want(pool[size]))
                want.quantity += count - set_already
                want.names.append(assembly.name)
    return wants


def _there(items: Iterable[Item]) -> _There:
    """The bins of each item as one walks, with what they hold."""
    rows = bins_of(item.pk for item in items)
    amounts = quantities_at(row.place_id for row in rows)
    found: _There = defaultdict(list)
    for row in sorted(rows, key=lambda row: walking(row.spot, row.number)):
        found[row.item_id].append((row, amounts.get((row.place_id, row.item_id), 0)))
    return found


def _spares(wants: Sequence[_Want]) -> dict[int, int]:
    """Pieces expected to be spoiled of each fastener, to the nearest whole one."""
    rows = [
        (want.items[0], want.quantity)
        for want in wants
        if want.items and want.items[0].sort.fastener
    ]
    known = beliefs(item for item, _quantity in rows)
    return {
        item.pk: floor(Use(quantity, known[item.pk]).expected + 0.5)
        for item, quantity in rows
    }


def _walk(
    wants: Sequence[_Want], there: _There, spare: dict[int, int]
) -> tuple[list[Stop], list[Missing]]:
    """Where each is taken, and what no bin holds."""
    stops: list[Stop] = []
    missing: list[Missing] = []
    for want in wants:
        holding = [row for item in want.items for row in there[item.pk] if row[1]]
        here, left = _taken(want, holding)
        if here and not left:
            last = here[-1]
            more = spare.get(last.bin.item_id, 0)
            here[-1] = replace(last, spare=min(more, last.there - last.take))
        stops += here
        if left and want.items:
            missing.append(Missing(want.items[0], left, want.names))
    return stops, missing


def _taken(want: _Want, holding: list[tuple[Bin, int]]) -> tuple[list[Stop], int]:
    """The first bin that holds all of it, else one after the other; and what is left."""
    enough = [row for row in holding if row[1] >= want.quantity]
    stops, left = [], want.quantity
    for bin, there in enough[:1] or holding:
        take = min(there, left)
        if take:
            stops.append(Stop(bin, there, take, want.names))
        left -= take
    return stops, left


def _to_set(size: str, want: _Want, there: _There) -> ToSet:
    here = sum(amount for item in want.items for _bin, amount in there[item.pk])
    return ToSet(size, want.quantity, here)


def _rack(bin: Bin) -> str:
    """The part of a spot one walks to: 'rack A' of 'rack A, drawer 2'."""
    return bin.spot.partition(",")[0].strip() or "no spot"


def walking(spot: str, number: int) -> tuple[list[tuple[int, str]], int]:
    """The order of spots as one walks: 'drawer 2' before 'drawer 10'."""
    parts = re.findall(r"[0-9]{1,9}|[^0-9]+", spot.lower())
    return [
        (int(part), "") if part[0].isdigit() else (-1, part) for part in parts
    ], number


def _mixed(stop: Stop, today: date) -> Mixed:
    lots = [stay.lot for stay in lots_in(stop.bin)]
    over = any(lot.expires_on and lot.expires_on < today for lot in lots)
    return Mixed(stop, lots, over)


def _drills(assemblies: Sequence[Assembly], settings: Shop) -> list[Drilled]:
    holes: dict[str, float] = defaultdict(float)
    for assembly in assemblies:
        for row in assembly.drillings.all():
            holes[row.hole_size] += equivalent(row, settings.wear_weights)
    if not holes:
        return []
    life, fitted, fresh = bit_life(settings), _fitted(), _fresh()
    found = []
    for size, count in sorted(holes.items()):
        bit = fitted.get(drill_name(size))
        used = holes_on(bit) if bit else 0.0
        lasts = life.chance_lasts(used, count) if bit else None
        found.append(
            Drilled(size, count, bit, used, lasts, fresh.get(drill_name(size), []))
        )
    return found


def _fitted() -> dict[str, Bit]:
    """The bit in use by its size; of several the one fitted last."""
    rows = (
        Bit.objects.select_related("item")
        .filter(state=BitState.FITTED)
        .order_by("number")
    )
    return {drill_name(row.item.size): row for row in rows}


def _fresh() -> dict[str, list[Bin]]:
    """Bins that hold drills, by size, the plain ones first."""
    rows = bins_of_kinds(ONE_AT_A_TIME)
    amounts = quantities_at(row.place_id for row in rows)
    found: dict[str, list[Bin]] = defaultdict(list)
    for row in sorted(
        rows, key=lambda row: (row.item.form != row.item.sort.forms[0], row.number)
    ):
        if amounts.get((row.place_id, row.item_id), 0):
            found[drill_name(row.item.size)].append(row)
    return found
