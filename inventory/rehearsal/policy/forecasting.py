"""Buying by the forecast: what the record teaches, the doubt, one combined order.

Tuned on this simulator, on builds of other seeds than those reported: the defaults of
Settings here, and in bins.py how often a hand is believed to take from a wrong tin.
The simulator itself was frozen before. Everything else is the program's own rules.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np

from inventory.forecasting.rules.counts import Count
from inventory.forecasting.rules.stock import deficit, worth_of_counting
from inventory.forecasting.rules.use import Use
from inventory.rehearsal.policy.bins import LEAD_DAYS, BinLog, Integers
from inventory.rehearsal.policy.learning import Learning
from inventory.rehearsal.policy.reckoning import Risk, Wish, cost, worthwhile
from inventory.rehearsal.policy.sharing import Lists, combined, filled
from inventory.rehearsal.seen.prices import SUPPLIERS, cheaper
from inventory.rehearsal.seen.shop import LOOK_SPREAD, REVIEW_DAYS, Entry, ShopSeen

# 16 rivets an hour, 7 hours a week (computed from public reports; a guess): believed
# as if so many days had shown it.
_PACE, _PACE_DAYS = 16.0, 10.0
# Nobody recounts more bins than this when a stage begins.
_BINS_A_LOOK = 4
# A bin looks wrong when it is off by so many times what a look may be, and a few.
_FAR, _FEW = 3.0, 10
# A late parcel's pieces are ordered again for so many days of work.
_BRIDGED_DAYS = 21
# What a parcel must be worth, trouble included, and a danger not worth a thought.
_PARCEL, _A_THOUGHT = 30.0, 1.0


@dataclass(frozen=True)
class Care:
    """How careful the buying is.

    `stop`: the money at which a stopped stage is reckoned. `kept`: the money of the plan
    and a tenth that the first order leaves for later parcels. `margin`: days a parcel may be late and the look still sees
    far enough. `worth`: the share of a parcel that a recount must be worth.
    """

    stop: float = 200.0
    kept: float = 4.0
    margin: int = 14
    worth: float = 0.03

    @property
    def later(self) -> float:
        """The money of a shortage that will be seen in time."""
        return self.stop / 3


@dataclass(frozen=True, eq=False)
class Said:
    """When a stage began: the pieces of a part that would be spoiled in it."""

    stage: int
    part: int
    spoiled: Count


@dataclass
class Forecast:
    """Buys by what the record says, as the program does."""

    settings: Care = Care()
    name: str = "Gripcount"
    said: list[Said] = field(default_factory=list)

    def begin(self, shop: ShopSeen) -> None:
        """One order for the whole plan: what would be bought later costs a parcel.

        It is as careful as it can be for the money that the plan and a tenth would cost.
        """
        self.left = shop.aircraft.needs()
        pulls = sum(len(stage) for stage in shop.aircraft.stages)
        a_pull = float(self.left.sum()) / pulls
        self.learning, self.bins = Learning(), BinLog(shop.aircraft.parts, a_pull)
        self.ahead = [chunk for stage in shop.aircraft.stages for chunk in stage]
        self.at_once: dict[int, int] = {}
        for chunk in self.ahead:
            asked = self.at_once.get(chunk.part, 0)
            self.at_once[chunk.part] = max(asked, chunk.need)
        self.stage, self.pieces, self.days = 0, 0, 0
        self.since = self.done = 0
        for supplier, pieces in self._first(shop):
            self.bins.order(shop, pieces, supplier)

    def _first(self, shop: ShopSeen) -> Lists:
        parts, needs = self.bins.parts, self._needs(len(self.left) - 1)
        tenth = {at: -(-int(n) * 11 // 10) for at, n in enumerate(needs)}
        money = cheaper(parts, tenth)[1] - self.settings.kept
        shorts = {
            part: risk.short
            for part, risk in self._risks(shop, len(self.left) - 1, 0.0).items()
        }
        return filled(parts, shorts, money)

    def review(self, shop: ShopSeen) -> None:
        """Order when the stages in sight are worth a parcel; before, count the doubtful."""
        self.bins.put_away(shop)
        self._look_into_bins(shop)
        danger = self._in_danger(shop)
        if self._gain(danger) > _PARCEL and self._recount(shop, danger):
            danger = self._in_danger(shop)
        if self._gain(danger) > _PARCEL:
            self._order(shop, {}, self.settings.later)
        self._bridge(shop)

    def stage_begins(self, shop: ShopSeen, stage: int) -> None:
        """Say how much will be spoiled, recount the few bins that matter, look."""
        self.stage, self.since, self.done = stage, shop.day, 0
        self.learning.pool()
        for part in np.flatnonzero(self.left[stage]):
            use = self._use(int(part), int(self.left[stage, part]))
            self.said.append(Said(stage, int(part), use.chances))
        self.bins.put_away(shop)
        self._recount(shop, self._in_danger(shop))
        self.review(shop)

    def worked(self, shop: ShopSeen, stage: int, entry: Entry) -> None:
        """Learn from what was recorded; a pull that is missing is recounted."""
        part, need, pulled = entry.part, entry.need, entry.pulled
        self._pace(shop, need)
        self.ahead = self.ahead[1:]
        self.left[stage, part] -= need
        if pulled:
            self.bins.pulled(part, pulled)
            name = shop.aircraft.parts[part].spoilage_class
            self.learning.closed(name, need, pulled - need)
        else:
            self.bins.count(shop, part, explained=True)

    def run_out(self, shop: ShopSeen, part: int, missing: int) -> None:
        """Order what is missing, and what is at risk along with it."""
        self.bins.put_away(shop)
        self.bins.known(part, 0)
        self._order(shop, {part: missing}, self.settings.later)

    def _pace(self, shop: ShopSeen, need: int) -> None:
        """Pieces and days of work; months away between stages are none."""
        self.pieces += self.done
        self.days += shop.day - self.since
        self.since, self.done = shop.day, need

    def _shops_pace(self) -> float:
        """Pieces a day of work, by the record so far."""
        return (_PACE * _PACE_DAYS + self.pieces) / (_PACE_DAYS + self.days)

    def _soon(self) -> Integers:
        """Pieces by part of the work next at hand, until a late parcel may be here."""
        needs = np.zeros(len(self.bins.parts), dtype=int)
        room = _BRIDGED_DAYS * self._shops_pace()
        for chunk in self.ahead:
            if needs.sum() >= room:
                break
            needs[chunk.part] += chunk.need
        return needs

    def _bridge(self, shop: ShopSeen) -> None:
        """Order what a late parcel would leave the next weeks' work without."""
        have, soon = self.bins.late(shop), self._soon()
        lacking = {
            int(part): int(soon[part] - have[part])
            for part in np.flatnonzero((have >= 0) & (soon > have))
        }
        if lacking:
            quickest = min(SUPPLIERS, key=lambda each: each.days)
            self.bins.order(shop, lacking, quickest)

    def _horizon(self) -> int:
        """Days ahead in which an order sent at the next look might not be here."""
        return REVIEW_DAYS + LEAD_DAYS + self.settings.margin

    def _in_sight(self) -> int:
        """The last stage that may begin within the horizon, at the shop's own pace."""
        rest = self.left[self.stage :].sum(axis=1).cumsum()
        ahead = int(
            np.searchsorted(rest, self._horizon() * self._shops_pace(), side="right")
        )
        return min(self.stage + ahead, len(self.left) - 1)

    def _needs(self, last: int) -> Integers:
        """Pieces by part that the plan still asks through a stage."""
        return np.asarray(self.left[: last + 1].sum(axis=0))

    def _use(self, part: int, need: int) -> Use:
        belief = self.learning.belief(self.bins.parts[part].spoilage_class)
        return Use(need, belief, self.at_once[part])

    def _risks(self, shop: ShopSeen, last: int, money: float) -> dict[int, Risk]:
        """By part asked through a stage: the risk that it runs out by then."""
        needs = self._needs(last)
        return {
            part: Risk(
                deficit(
                    self._use(part, int(needs[part])),
                    self.bins.stock(shop, part, needs),
                ),
                money,
            )
            for part in map(int, np.flatnonzero(needs))
        }

    def _in_danger(self, shop: ShopSeen) -> dict[int, Risk]:
        """The parts whose running out in the stages in sight is worth a thought."""
        risks = self._risks(shop, self._in_sight(), self.settings.stop)
        return {part: each for part, each in risks.items() if each.cost() > _A_THOUGHT}

    def _gain(self, danger: Mapping[int, Risk]) -> float:
        """The money that an order sent now is worth, shipping apart."""
        gains = 0.0
        for part, risk in danger.items():
            item = self.bins.parts[part]
            wish = Wish([risk])
            gains += risk.cost() - cost(item, wish, worthwhile(item, wish))
        return gains

    def _look_into_bins(self, shop: ShopSeen) -> None:
        """Count what looks far off its record, of what the stages in sight ask."""
        seen, said = shop.look(), shop.recorded
        far = np.abs(seen - said) > _FAR * LOOK_SPREAD * np.maximum(seen, said) + _FEW
        asked = self._needs(self._in_sight()) > 0
        for part in np.flatnonzero(far & asked):
            self.bins.count(shop, int(part))

    def _recount(self, shop: ShopSeen, parts: Iterable[int]) -> bool:
        """Count the few bins whose count could change what is ordered."""
        needs, share = self._needs(self._in_sight()), _PARCEL / self.settings.stop
        worths = {
            part: worth_of_counting(
                self._use(part, int(needs[part])), self.bins.stock(shop, part), share
            )
            for part in parts
        }
        real = [part for part in worths if worths[part] > self.settings.worth * share]
        few = sorted(real, key=lambda part: -worths[part])[:_BINS_A_LOOK]
        for part in few:
            self.bins.count(shop, part)
        return bool(few)

    def _order(self, shop: ShopSeen, missing: Mapping[int, int], money: float) -> None:
        """One combined order for all that the rest of the plan makes worthwhile."""
        wishes = self._wishes(shop, missing, money)
        for supplier, pieces in combined(self.bins.parts, wishes):
            self.bins.order(shop, pieces, supplier)

    def _wishes(
        self, shop: ShopSeen, missing: Mapping[int, int], money: float
    ) -> dict[int, Wish]:
        whole = self._risks(shop, len(self.left) - 1, money)
        near = self._risks(shop, self._in_sight(), self.settings.stop)
        return {
            part: Wish(
                [risk, near[part]] if part in near else [risk],
                max(risk.short.to_buy(0.5), missing.get(part, 0)),
            )
            for part, risk in whole.items()
        }
