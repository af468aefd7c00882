"""The order plan as data: what is wanted by when, what is sold, what was decided.

Days count from the day of the plan. Money is Decimal in the shop's own currency; the
solver works in floats, but every figure shown is reckoned again from its packs here.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

NOTHING = Decimal(0)
# Nobody sells it; nobody is quick enough; it would be past its life; too few are sold.
NOBODY, LATE, LIFE, FEW = "nobody", "late", "life", "few"


@dataclass(frozen=True, slots=True)
class Tier:
    """A price a pack from `least` packs on, for all of them; `fee` once on top."""

    least: int
    price: Decimal
    most: int | None = None
    fee: Decimal = NOTHING


@dataclass(frozen=True, slots=True)
class PackOffer:
    """A pack of an item: pieces it surely holds, prices, days to the bench, life.

    `most` is the most packs to be had; `life_days` counts from arrival.
    """

    key: int
    item: int
    supplier: int
    pieces: int
    tiers: tuple[Tier, ...]
    lead_days: int
    most: int | None = None
    life_days: int | None = None
    hazardous: bool = False

    def tier(self, packs: int) -> Tier:
        """The price that so many packs get: the cheapest they qualify for."""
        fit = [
            row
            for row in self.tiers
            if row.least <= packs and (row.most is None or packs <= row.most)
        ]
        return min(fit or self.tiers[:1], key=lambda row: row.fee + row.price * packs)

    def goods(self, packs: int) -> Decimal:
        """What so many packs cost."""
        row = self.tier(packs)
        return row.fee + row.price * packs if packs else NOTHING

    def serves(self, day: int) -> bool:
        """Whether a pack is here by a day and not yet past its life."""
        end = None if self.life_days is None else self.lead_days + self.life_days
        return self.lead_days <= day and (end is None or day <= end)


@dataclass(frozen=True, slots=True)
class SellerTerms:
    """What a parcel costs: shipping, free from so much goods; a hazard fee; a minimum."""

    key: int
    name: str
    shipping: Decimal = NOTHING
    hazard_fee: Decimal = NOTHING
    free_from: Decimal | None = None
    minimum: Decimal = NOTHING


@dataclass(frozen=True, slots=True)
class Want:
    """Pieces of an item still wanted up to and with a day, all earlier ones included."""

    item: int
    day: int
    pieces: int


@dataclass(frozen=True, slots=True)
class Cut:
    """One length may be cut down to a shorter one, at a cost a piece."""

    longer: int
    shorter: int
    cost: Decimal


@dataclass(frozen=True)
class Problem:
    """Everything the solver is told. `spare` is stock that no stage will use."""

    suppliers: Sequence[SellerTerms]
    offers: Sequence[PackOffer]
    wants: Sequence[Want]
    cuts: Sequence[Cut] = ()
    spare: Mapping[int, int] = field(default_factory=dict)

    def offer(self, key: int) -> PackOffer:
        """The offer of a key."""
        return next(row for row in self.offers if row.key == key)

    def by_item(self) -> dict[int, list[Want]]:
        """Wants of each item by day, never falling: what was wanted stays wanted."""
        found: dict[int, list[Want]] = {}
        for row in sorted(self.wants, key=lambda want: (want.day, want.pieces)):
            mine = found.setdefault(row.item, [])
            most = max(row.pieces, mine[-1].pieces if mine else 0)
            if mine and mine[-1].day == row.day:
                mine.pop()
            mine.append(Want(row.item, row.day, most))
        return found


@dataclass(frozen=True, slots=True)
class Taken:
    """Packs of an offer."""

    offer: int
    packs: int


@dataclass(frozen=True, slots=True)
class CutDown:
    """Pieces of one length cut down to another by a day."""

    longer: int
    shorter: int
    day: int
    pieces: int


@dataclass(frozen=True, slots=True)
class Missed:
    """Pieces that are not here by a day, and why: NOBODY, LATE, LIFE or FEW.

    LATE ones come `late` days after it from `supplier`, the quickest.
    """

    item: int
    day: int
    pieces: int
    why: str
    late: int = 0
    supplier: int | None = None


@dataclass(frozen=True)
class Solution:
    """What the solver decided: packs, cuts; what stays out of reach; how sure it is.

    `bound` is below which no plan can cost; `proven` whether the gap asked for was met
    before the time was up.
    """

    taken: Sequence[Taken]
    cuts: Sequence[CutDown]
    missed: Sequence[Missed]
    bound: Decimal
    proven: bool


@dataclass(frozen=True, slots=True)
class Bill:
    """What one supplier's parcel comes to."""

    supplier: int
    goods: Decimal
    shipping: Decimal
    hazard: Decimal

    @property
    def total(self) -> Decimal:
        """Goods, shipping and hazard fee."""
        return self.goods + self.shipping + self.hazard


def bills(problem: Problem, taken: Iterable[Taken]) -> list[Bill]:
    """Every parcel's cost, reckoned from its packs."""
    packs = {row.offer: row.packs for row in taken}
    found = []
    for supplier in problem.suppliers:
        mine = [
            (row, packs[row.key])
            for row in problem.offers
            if row.supplier == supplier.key and packs.get(row.key)
        ]
        if not mine:
            continue
        goods = sum((row.goods(count) for row, count in mine), NOTHING)
        free = supplier.free_from is not None and goods >= supplier.free_from
        found.append(
            Bill(
                supplier.key,
                goods,
                NOTHING if free else supplier.shipping,
                supplier.hazard_fee
                if any(row.hazardous for row, _ in mine)
                else NOTHING,
            )
        )
    return found


def cut_cost(problem: Problem, cuts: Iterable[CutDown]) -> Decimal:
    """What the cutting is reckoned at."""
    price = {(row.longer, row.shorter): row.cost for row in problem.cuts}
    return sum((price[row.longer, row.shorter] * row.pieces for row in cuts), NOTHING)


def total(problem: Problem, plan: Solution) -> Decimal:
    """What a plan costs in all, cuts included."""
    paid = sum((row.total for row in bills(problem, plan.taken)), NOTHING)
    return paid + cut_cost(problem, plan.cuts)


def gap(cost: Decimal, bound: Decimal) -> Decimal:
    """How much cheaper another plan could at most be, as a share of the cost."""
    return max(NOTHING, (cost - bound) / cost) if cost else NOTHING
