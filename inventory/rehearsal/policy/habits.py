"""The two ways of buying that builders know: the plan plus a tenth, and keep levels."""

import numpy as np

from inventory.rehearsal.seen.shop import Entry, ShopSeen

# A keep level: so much of the largest stage's need, and never under a handful.
_KEEP_SHARE, _KEEP_LEAST = 0.2, 20


class PlanPlusTenth:
    """Buys the whole plan and a tenth of it once; then only what has run out."""

    name = "plan plus 10 %"

    def begin(self, shop: ShopSeen) -> None:
        """One order for the whole aircraft."""
        needs = shop.aircraft.needs().sum(axis=0)
        shop.order({at: -(-int(n) * 11 // 10) for at, n in enumerate(needs)})

    def review(self, shop: ShopSeen) -> None:
        """Nobody counts."""

    def stage_begins(self, shop: ShopSeen, stage: int) -> None:
        """Nobody looks."""

    def worked(self, shop: ShopSeen, stage: int, entry: Entry) -> None:
        """Nobody records."""

    def run_out(self, shop: ShopSeen, part: int, missing: int) -> None:
        """Orders what the rest of the plan is thought to ask: the missing and a tenth."""
        shop.order({part: missing + max(10, missing // 10)})


class KeepLevel:
    """Fills every bin to twice its level, and again whenever it looks under it."""

    name = "keep levels"

    def begin(self, shop: ShopSeen) -> None:
        """Every bin is filled."""
        largest = shop.aircraft.needs().max(axis=0)
        self.levels = np.maximum(_KEEP_LEAST, _KEEP_SHARE * largest).astype(int)
        shop.order({at: int(2 * level) for at, level in enumerate(self.levels)})

    def review(self, shop: ShopSeen) -> None:
        """One order for all bins that look under their level."""
        low = (shop.look() < self.levels) & (shop.on_order() == 0)
        shop.order({int(at): int(2 * self.levels[at]) for at in np.flatnonzero(low)})

    def stage_begins(self, shop: ShopSeen, stage: int) -> None:
        """Nobody looks ahead."""

    def worked(self, shop: ShopSeen, stage: int, entry: Entry) -> None:
        """Nobody records."""

    def run_out(self, shop: ShopSeen, part: int, missing: int) -> None:
        """Fills the bin."""
        shop.order({part: int(missing + 2 * self.levels[part])})
