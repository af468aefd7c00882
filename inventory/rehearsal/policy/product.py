"""A builder who scans, and does what the program says: no rule of buying is kept here.

What is ordered, when, and which bins are counted is decided by
`forecasting/rules/deciding` and the order plan, as on the pages.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property

import numpy as np

from inventory.buying.rules.market import DAYS_AHEAD, wanted
from inventory.buying.rules.orderplan import (
    PackOffer,
    Problem,
    SellerTerms,
    Tier,
    Want,
)
from inventory.buying.solver.here import solve_here
from inventory.forecasting.rules.counts import Count
from inventory.forecasting.rules.deciding import Decided, decide
from inventory.forecasting.rules.use import Use
from inventory.ordering.rules.packs import sure_pieces
from inventory.rehearsal.policy.record import Record
from inventory.rehearsal.seen.plan import Part
from inventory.rehearsal.seen.prices import SUPPLIERS, Pack, packs
from inventory.rehearsal.seen.shop import (
    NEARLY_EMPTY,
    REVIEW_DAYS,
    Entry,
    ShopSeen,
)

# An order plan that is as good as any but for this share is good enough here.
_GAP = 0.005


@dataclass(frozen=True, eq=False)
class Said:
    """When a stage began: the pieces of a part that would be spoiled in it."""

    stage: int
    part: int
    spoiled: Count


@dataclass
class Gripcount:
    """Looks at the first page now and then and does what it says.

    `days_ahead`: how far the order plan looks.
    """

    days_ahead: int = DAYS_AHEAD
    name: str = "Gripcount"
    said: list[Said] = field(default_factory=list)

    def begin(self, shop: ShopSeen) -> None:
        """The first order."""
        self.record = Record(shop)
        self.review(shop)

    def received(self, shop: ShopSeen) -> None:
        """It is received, bag by bag."""
        self.record.came()

    def review(self, shop: ShopSeen) -> None:
        """Looks, counts and orders what the program asks before the next review.

        Looks are cheap: they are done when they are asked for. Counts wait until the
        next order is due.
        """
        decided = decide(self.record.facts())
        looks = [each for each in decided.looks if not each.counts]
        if looks:
            for each in looks:
                self.record.look(each.item - 1)
            decided = decide(self.record.facts())
        if not self._is_time(decided):
            return
        counts = [each for each in decided.looks if each.counts]
        if counts:
            for each in counts:
                self.record.count(each.item - 1)
            decided = decide(self.record.facts())
        if self._is_time(decided):
            self._order(shop, decided, {})

    def stage_begins(self, shop: ShopSeen, stage: int) -> None:
        """What the program says of each item's spoilage is noted, to be judged."""
        self.record.starts(stage)
        known, most = self.record.learned(), self.record.at_once()
        for part in map(int, np.flatnonzero(self.record.left[stage])):
            need = int(self.record.left[stage, part])
            use = Use(need, self.record.belief(part, known), most.get(part))
            self.said.append(Said(stage, part, use.chances))
        self.review(shop)

    def worked(self, shop: ShopSeen, stage: int, entry: Entry) -> None:
        """It is scanned and closed."""
        self.record.worked(stage, entry)

    def nearly_empty(self, shop: ShopSeen, part: int, pieces: int) -> None:
        """What is seen anyway is noted, where the record says that more are here."""
        if shop.recorded[part] > 2 * NEARLY_EMPTY:
            self.record.see(part, min(pieces, 1))

    def run_out(self, shop: ShopSeen, part: int, missing: int) -> None:
        """The bin is counted, and the order plan asked."""
        self.record.count(part)
        self._order(shop, decide(self.record.facts()), {part + 1: missing})

    def _is_time(self, decided: Decided) -> bool:
        """Whether the day to order comes before the next review."""
        day = decided.order_by
        return day is not None and (day - self.record.today).days < REVIEW_DAYS

    def _order(self, shop: ShopSeen, decided: Decided, least: dict[int, int]) -> None:
        """Order what the order plan says; what stands still is never left out."""
        asked = wanted(decided, self.record.today, self.days_ahead, {}).now
        most = {row.item: row.pieces for row in asked}
        wants = [Want(row.item, row.day, row.pieces) for row in asked] + [
            Want(item, 0, pieces)
            for item, pieces in least.items()
            if most.get(item, 0) < pieces
        ]
        items = {row.item for row in wants}
        offers = [row for row in self._sold.offers if row.item in items]
        problem = Problem(self._sold.suppliers, offers, wants)
        baskets: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
        for taken in solve_here(problem, gap=_GAP).taken:
            row = problem.offer(taken.offer)
            pack = self._sold.packs[taken.offer]
            baskets[row.supplier][row.item - 1] += taken.packs * pack.pieces
        for at, pieces in baskets.items():
            shop.order(pieces, SUPPLIERS[at])
            self.record.ordered(SUPPLIERS[at], dict(pieces))

    @cached_property
    def _sold(self) -> "_Sold":
        return _Sold.of(self.record.parts)


@dataclass(frozen=True)
class _Sold:
    """The price list, as an order plan reads it."""

    suppliers: list[SellerTerms]
    offers: list[PackOffer]
    packs: dict[int, Pack]

    @classmethod
    def of(cls, parts: tuple[Part, ...]) -> "_Sold":
        found = cls([], [], {})
        for at, supplier in enumerate(SUPPLIERS):
            terms = SellerTerms(
                at,
                supplier.name,
                Decimal(str(supplier.shipping)),
                free_from=Decimal(str(supplier.free_from)),
            )
            found.suppliers.append(terms)
            for item, part in enumerate(parts, 1):
                for pack in packs(supplier, part):
                    key = len(found.offers)
                    sure = _sure(part, pack) if supplier.by_weight else pack.pieces
                    tiers = (Tier(1, Decimal(str(pack.price))),)
                    found.packs[key] = pack
                    found.offers.append(
                        PackOffer(key, item, at, sure, tiers, supplier.days)
                    )
        return found


def _sure(part: Part, pack: Pack) -> int:
    """The pieces that a pack by weight surely holds."""
    grams = Decimal(str(round(pack.pieces * part.grams, 3)))
    mg = Decimal(str(round(part.grams * 1000, 3)))
    sure = sure_pieces(grams, callout=part.callout, mg=mg, weighed=False, unit="pcs")
    return max(1, sure or pack.pieces)
