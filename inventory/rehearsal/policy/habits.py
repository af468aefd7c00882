"""The ways of buying that builders know: the plan and something, and keep levels.

Common practice, no source; each is as good as its kind can be, and whoever pulls sees a
bin that is nearly empty and orders what the rest of the plan asks.
"""

from collections.abc import Mapping

import numpy as np

from inventory.rehearsal.seen.shop import Entry, ShopSeen

# What is bought beyond a need, in percent, and beyond one of no more than so many pieces;
# the least.
_TENTH, _FIFTH, _SMALL, _LEAST = 10, 20, 200, 10


def _percent(need: int, share: int) -> int:
    """So many percent of a need, a part of a piece as a whole one."""
    return -(-need * share // 100)


class PlanPlusTenth:
    """Buys the whole plan and a tenth of it once; then only what has run out."""

    name = "plan plus 10 %"

    def begin(self, shop: ShopSeen) -> None:
        """One order for the whole aircraft."""
        self.stage, self.left = 0, shop.aircraft.needs()
        shop.order({at: self.more(int(n)) for at, n in enumerate(self.rest())})

    def more(self, need: int) -> int:
        """A need with what is bought beyond it."""
        return need + _percent(need, _TENTH)

    def rest(self) -> np.ndarray:
        """Pieces by part that the plan still asks."""
        return np.asarray(self.left.sum(axis=0))

    def near(self) -> np.ndarray:
        """Pieces by part that this stage and the next still ask."""
        return np.asarray(self.left[self.stage : self.stage + 2].sum(axis=0))

    def received(self, shop: ShopSeen) -> None:
        """It is put away."""

    def review(self, shop: ShopSeen) -> None:
        """Nobody counts."""

    def stage_begins(self, shop: ShopSeen, stage: int) -> None:
        """Nobody looks."""
        self.stage = stage

    def worked(self, shop: ShopSeen, stage: int, entry: Entry) -> None:
        """The plan is ticked off."""
        self.left[stage, entry.part] -= entry.need

    def nearly_empty(self, shop: ShopSeen, part: int, pieces: int) -> None:
        """Orders what the rest of the plan asks beyond what was seen."""
        self.order(shop, {part: self.more(int(self.rest()[part])) - pieces})

    def run_out(self, shop: ShopSeen, part: int, missing: int) -> None:
        """Orders what is missing, and what the rest of the plan asks."""
        shop.order({part: max(missing, self.more(int(self.rest()[part])))})

    def look(self, shop: ShopSeen, bins: np.ndarray) -> None:
        """Looks into some bins, and orders for those that look low for two stages."""
        near, rest = self.near(), self.rest()
        seen = shop.look([int(at) for at in np.flatnonzero(bins)])
        low = {at: looked for at, looked in seen.items() if looked < near[at]}
        self.order(
            shop, {at: self.more(int(rest[at])) - int(n) for at, n in low.items()}
        )

    def order(self, shop: ShopSeen, wanted: Mapping[int, int]) -> None:
        """Nothing that is on its way is ordered again."""
        coming = shop.on_order()
        shop.order({at: n for at, n in wanted.items() if n > 0 and not coming[at]})


class PlanPlusByNeed(PlanPlusTenth):
    """A fifth more of small needs, a tenth of large ones, ten at least."""

    name = "plan plus 10 to 20 %"

    def more(self, need: int) -> int:
        share = _FIFTH if need <= _SMALL else _TENTH
        return need + max(_LEAST, _percent(need, share)) if need else 0


class PlanAndLook(PlanPlusTenth):
    """The plan and a tenth, and a look into the bins before each stage."""

    name = "plan plus 10 %, looks"

    def stage_begins(self, shop: ShopSeen, stage: int) -> None:
        """Looks into the bins of this stage and the next, and orders what looks low."""
        super().stage_begins(shop, stage)
        self.look(shop, self.near())


class KeepLevel(PlanPlusTenth):
    """Keeps what this stage and the next ask, and a tenth: seen at each review."""

    name = "keep levels"

    def begin(self, shop: ShopSeen) -> None:
        """The bins of the first two stages are filled."""
        self.stage, self.left = 0, shop.aircraft.needs()
        shop.order({at: self.more(int(n)) for at, n in enumerate(self.near())})

    def rest(self) -> np.ndarray:
        return self.near()

    def review(self, shop: ShopSeen) -> None:
        """Looks into the bins of the two stages, and fills what is under its level."""
        self.look(shop, self.near() * (shop.on_order() == 0))

    def stage_begins(self, shop: ShopSeen, stage: int) -> None:
        super().stage_begins(shop, stage)
        self.review(shop)
