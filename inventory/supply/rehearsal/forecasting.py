"""Buying by the forecast: what the record teaches, the doubt, one combined order."""

from collections.abc import Collection
from dataclasses import dataclass, field

import numpy as np

from inventory.forecasting.rules.counts import Count
from inventory.forecasting.rules.stock import Deficit, deficit, worth_of_counting
from inventory.forecasting.rules.use import Use
from inventory.supply.rehearsal.bins import LEAD_DAYS, Bins
from inventory.supply.rehearsal.builders import Job
from inventory.supply.rehearsal.builds import REVIEW_DAYS, Shop
from inventory.supply.rehearsal.learning import Learning
from inventory.supply.rehearsal.market import SUPPLIERS, cheapest
from inventory.supply.rehearsal.sharing import shared

# 16 rivets an hour, 7 hours a week (computed from public reports; a guess): believed
# as if so many days had shown it.
_PACE, _PACE_DAYS = 16.0, 10.0
# Nobody recounts more bins than this when a stage begins.
_BINS_A_LOOK = 4


@dataclass(frozen=True)
class Settings:
    """How careful the buying is.

    `watch`: the chance to run out that is borne in the stages in sight. `later` and
    `stop`: the money a shortage is reckoned at when it will be seen in time, and when
    it may stop a stage. `margin`: days a parcel may be late and the look still sees
    far enough. `worth`: the share of `watch` a recount must be worth.
    """

    watch: float = 0.01
    later: float = 30.0
    stop: float = 300.0
    margin: int = 14
    worth: float = 0.1


@dataclass(frozen=True, eq=False)
class Said:
    """When a stage began: the pieces of a part that would be spoiled in it."""

    stage: int
    part: int
    spoiled: Count


@dataclass
class Forecast:
    """Buys by what the record says, as the program does."""

    settings: Settings = Settings()
    name: str = "the forecast"
    said: list[Said] = field(default_factory=list)

    def begin(self, shop: Shop) -> None:
        """One order for the whole plan: what would be bought later costs a parcel."""
        self.left = shop.aircraft.needs()
        pulls = sum(len(stage) for stage in shop.aircraft.stages)
        a_pull = float(self.left.sum()) / pulls
        self.learning, self.bins = Learning(), Bins(shop.aircraft.parts, a_pull)
        self.stage, self.pieces, self.days = 0, 0, 0
        self.since = self.done = 0
        self._order(shop, [])

    def review(self, shop: Shop) -> None:
        """Order when a stage in sight is at risk; before, count what puts it there."""
        self.bins.put_away(shop)
        risky = self._risky(shop)
        counted = self._worth_counting(shop, risky)
        for part in counted:
            self.bins.count(shop, part)
        risky = self._risky(shop) if counted else risky
        if risky:
            self._order(shop, risky)

    def stage_begins(self, shop: Shop, stage: int) -> None:
        """Say how much will be spoiled, recount the few bins that matter, look."""
        self.stage, self.since, self.done = stage, shop.day, 0
        self.learning.pool()
        for part in np.flatnonzero(self.left[stage]):
            use = self._use(shop, int(part), int(self.left[stage, part]))
            self.said.append(Said(stage, int(part), use.chances))
        self.bins.put_away(shop)
        for part in self._worth_counting(shop, self._asked(shop)):
            self.bins.count(shop, part)
        self.review(shop)

    def worked(self, shop: Shop, stage: int, job: Job) -> None:
        """Learn from what was recorded; a pull that is missing is recounted."""
        part, need = job.chunk.part, job.chunk.need
        pulled = job.used - job.unrecorded
        self._pace(shop, need)
        self.left[stage, part] -= need
        if pulled:
            self.bins.pulled(part, pulled)
            name = shop.aircraft.parts[part].spoilage_class
            self.learning.closed(name, need, pulled - need)
        else:
            self.bins.count(shop, part, explained=True)

    def run_out(self, shop: Shop, part: int, missing: int) -> None:
        """Order what is missing, and what is at risk along with it."""
        self.bins.put_away(shop)
        self.bins.known(part, 0)
        self._order(shop, [part], missing)

    def _pace(self, shop: Shop, need: int) -> None:
        """Pieces and days of work; months away between stages are none."""
        self.pieces, self.days = self.pieces + self.done, self.days + shop.day - self.since
        self.since, self.done = shop.day, need

    def _horizon(self) -> int:
        """Days ahead in which an order sent at the next look might not be here."""
        return REVIEW_DAYS + LEAD_DAYS + self.settings.margin

    def _in_sight(self) -> int:
        """The last stage that may begin within the horizon, at the shop's own pace."""
        pace = (_PACE * _PACE_DAYS + self.pieces) / (_PACE_DAYS + self.days)
        rest = self.left[self.stage :].sum(axis=1).cumsum()
        ahead = int(np.searchsorted(rest, self._horizon() * pace, side="right"))
        return min(self.stage + ahead, len(self.left) - 1)

    def _asked(self, shop: Shop) -> list[int]:
        """The parts that the stages in sight still ask for."""
        return [int(part) for part in np.flatnonzero(self._needs(self._in_sight()))]

    def _needs(self, last: int) -> np.ndarray:
        return np.asarray(self.left[: last + 1].sum(axis=0))

    def _use(self, shop: Shop, part: int, need: int) -> Use:
        name = shop.aircraft.parts[part].spoilage_class
        return Use(need, self.learning.belief(name))

    def _deficit(self, shop: Shop, part: int, last: int) -> Deficit:
        needs = self._needs(last)
        use = self._use(shop, part, int(needs[part]))
        return deficit(use, self.bins.stock(shop, part, needs))

    def _risky(self, shop: Shop) -> list[int]:
        last = self._in_sight()
        return [
            part
            for part in self._asked(shop)
            if self._deficit(shop, part, last).chance_short > self.settings.watch
        ]

    def _worth_counting(self, shop: Shop, parts: Collection[int]) -> list[int]:
        """The few bins whose recount could change what is ordered."""
        needs = self._needs(self._in_sight())
        watch = self.settings.watch
        worths = {
            part: worth_of_counting(
                self._use(shop, part, int(needs[part])),
                self.bins.stock(shop, part),
                watch,
            )
            for part in parts
        }
        real = [part for part in parts if worths[part] > self.settings.worth * watch]
        return sorted(real, key=lambda part: -worths[part])[:_BINS_A_LOOK]

    def _order(self, shop: Shop, risky: Collection[int], missing: int = 0) -> None:
        """One order through the whole plan; what is at risk is bought more surely."""
        last = len(self.left) - 1
        wanted: dict[int, int] = {}
        for part in map(int, np.flatnonzero(self._needs(last))):
            short = self._deficit(shop, part, last)
            if part in risky:
                least = max(1, missing, short.to_buy(self.settings.watch))
                wanted[part] = self._worthwhile(part, short, self.settings.stop, least)
            else:
                wanted[part] = self._worthwhile(
                    part, short, self.settings.later, short.to_buy(0.5)
                )
        for part in set(risky) - set(wanted):
            wanted[part] = max(1, missing)
        asked = {part: pieces for part, pieces in wanted.items() if pieces}
        for supplier, pieces in shared(shop.aircraft.parts, asked) if asked else ():
            self.bins.order(shop, pieces, supplier)

    def _worthwhile(self, part: int, short: Deficit, at: float, least: int) -> int:
        """The pieces whose price and chance to run out, reckoned at so much, are least."""
        pieces = {max(least, short.to_buy(share)) for share in _SHARES}
        return min(sorted({least, *pieces}), key=lambda n: self._cost(part, short, at, n))

    def _cost(self, part: int, short: Deficit, at: float, pieces: int) -> float:
        if not pieces:
            return at * short.chance_short
        covers = [cheapest(each, self.bins.parts[part], pieces) for each in SUPPLIERS]
        best = min(covers, key=lambda cover: cover.price)
        return best.price + at * short.over(sum(best.bags))


# The chances to run out that are weighed against what they cost.
_SHARES = (0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001)
