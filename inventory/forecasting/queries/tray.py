"""Tonight's tray: what a session takes from which bin, in the order one walks."""

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from inventory.catalog.models import Item
from inventory.forecasting.models import FITTED, Bit
from inventory.forecasting.queries.tools import (
    bit_life,
    equivalent,
    fasteners_wanted,
    holder,
    holes_on,
)
from inventory.ledger.queries import Bin, bins, held
from inventory.people.models import Shop
from inventory.planning.models import CLOSED, IN_WORK, Assembly, Build
from inventory.planning.queries import asked_by, open_assemblies

# Below this chance that the bit lasts, take a new one along.
DOUBTFUL = 0.9


@dataclass
class Take:
    """So many of one item, for which assemblies; from a bin, or from none."""

    item: Item
    quantity: int
    bins: list[tuple[Bin, int]]
    assemblies: list[str] = field(default_factory=list)

    @property
    def is_enough(self) -> bool:
        """Whether its bins hold it by the record."""
        return sum(there for _bin, there in self.bins) >= self.quantity


@dataclass(frozen=True)
class Drilled:
    """The holes of one size tonight, in equivalent full ones, and the bit for them.

    `lasts` is the chance that the fitted bit outlives them; None without a bit.
    """

    size: str
    holes: float
    bit: Bit | None
    lasts: float | None

    @property
    def fit_new(self) -> bool:
        """Whether a new bit should be fitted before, not after."""
        return self.lasts is None or self.lasts < DOUBTFUL


@dataclass(frozen=True)
class Tray:
    """Everything for a session."""

    assemblies: Sequence[Assembly]
    takes: Sequence[Take]
    drills: Sequence[Drilled]


def usual(build: Build | None) -> list[Assembly]:
    """The assemblies in work; with none, the next that is planned."""
    rows = list(open_assemblies(build))
    working = [row for row in rows if row.state == IN_WORK]
    return working or rows[:1]


def tray(assemblies: Sequence[Assembly], settled: Shop) -> Tray:
    """What these assemblies still ask, hold and drill; closed ones ask nothing."""
    rows = [row for row in assemblies if row.state != CLOSED]
    return Tray(rows, _takes(rows), _drills(rows, settled))


def _takes(assemblies: Sequence[Assembly]) -> list[Take]:
    wanted: dict[int, Take] = {}
    for assembly in assemblies:
        for item, quantity in _wanted(assembly):
            take = wanted.setdefault(item.pk, Take(item, 0, []))
            take.quantity += quantity
            take.assemblies.append(assembly.name)
    found = list(bins().filter(item__in=wanted))
    there = held(bin.place_id for bin in found)
    for bin in sorted(found, key=lambda bin: walking(bin.spot, bin.number)):
        here = there.get((bin.place_id, bin.item_id), 0)
        wanted[bin.item_id].bins.append((bin, here))
    return sorted(wanted.values(), key=_first_bin)


def _wanted(assembly: Assembly) -> list[tuple[Item, int]]:
    """Fasteners still to pull, and temporary ones still to hold."""
    rows = [(row.item, row.remaining) for row in asked_by(assembly) if row.remaining]
    there = held([assembly.place_id]) if assembly.place_id else {}
    pool = {
        holder(item.size): item
        for item in Item.objects.filter(kind="temporary_fastener").order_by("-pk")
    }
    for size, count in fasteners_wanted(assembly).items():
        item = pool.get(size)
        left = count - there.get((assembly.place_id or 0, item.pk if item else 0), 0)
        if item is not None and left > 0:
            rows.append((item, left))
    return rows


def _first_bin(take: Take) -> tuple[bool, list[tuple[int, str]], int]:
    """Where one comes to it; what no bin holds comes last."""
    if not take.bins:
        return True, [], take.item.pk
    bin = take.bins[0][0]
    return False, *walking(bin.spot, bin.number)


def walking(spot: str, number: int) -> tuple[list[tuple[int, str]], int]:
    """The order of spots as one walks: 'drawer 2' before 'drawer 10'."""
    parts = re.findall(r"[0-9]{1,9}|[^0-9]+", spot.lower())
    return [
        (int(part), "") if part[0].isdigit() else (-1, part) for part in parts
    ], number


def _drills(assemblies: Sequence[Assembly], settled: Shop) -> list[Drilled]:
    holes: dict[str, float] = defaultdict(float)
    for assembly in assemblies:
        for row in assembly.drillings.all():
            holes[row.hole_size] += equivalent(row, settled.wear_weights)
    life = bit_life(settled)
    found = []
    for size, count in sorted(holes.items()):
        bit = (
            Bit.objects.select_related("item")
            .filter(item__size=size, state=FITTED)
            .first()
        )
        lasts = life.chance_lasts(holes_on(bit), count) if bit else None
        found.append(Drilled(size, count, bit, lasts))
    return found
