"""Buying by the forecast: what the record teaches, the doubt, one combined order."""

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np

from inventory.forecasting.rules.bursts import Bursts
from inventory.forecasting.rules.record import Closed, split
from inventory.forecasting.rules.stock import (
    Arrival,
    Deficit,
    Stock,
    deficit,
    worth_of_counting,
)
from inventory.forecasting.rules.use import Belief, Use
from inventory.ledger.rules import CountFacts, doubt
from inventory.supply.rehearsal.builders import Job
from inventory.supply.rehearsal.builds import REVIEW_DAYS, Shop
from inventory.supply.rehearsal.market import combined

# How far a weekly look sees: a parcel's usual days, some that it may be late, and the
# days until the next look.
_LEAD, _MARGIN = 5, 10
_BINS_A_LOOK = 4
_WORTH_COUNTING = 0.1


@dataclass(frozen=True)
class Settings:
    """How careful the buying is: the chance to run out that is borne, at most.

    `first` of the first order over the whole plan, `watch` of the stages in sight,
    `along` of everything else that goes along when a parcel is sent anyway.
    """

    first: float = 0.2
    watch: float = 0.01
    along: float = 0.1


@dataclass(frozen=True)
class Said:
    """What was said of one item in one stage, and what came: F(y - 1) and F(y)."""

    below: float
    at: float


@dataclass
class Forecast:
    """Buys by what the record says, as the program does."""

    settings: Settings = Settings()
    name: str = "the forecast"
    said: list[Said] = field(default_factory=list)

    def begin(self, shop: Shop) -> None:
        """One order for the whole plan, as careful as is worth the money."""
        self.left = shop.aircraft.needs()
        self.beliefs: dict[str, Belief] = defaultdict(Belief)
        self.bursts = Bursts()
        self.stated = np.zeros(len(shop.aircraft.parts), dtype=int)
        self.moved = np.zeros(len(shop.aircraft.parts), dtype=int)
        self.stage, self.use, self.spoiled = 0, {}, defaultdict(int)
        self._order(shop, self.settings.first, self._all_stages(shop))

    def review(self, shop: Shop) -> None:
        """Count the bins that could change a decision; order when a stage is at risk."""
        inside = self._in_sight(shop)
        for part in self._worth_counting(shop, inside):
            shop.count(part)
            self.stated[part], self.moved[part] = shop.here[part], 0
        needs = self.left[: inside + 1].sum(axis=0)
        risky = [
            part
            for part in np.flatnonzero(needs)
            if self._deficit(shop, part, int(needs[part])).chance_short
            > self.settings.watch
        ]
        if risky:
            self._order(shop, self.settings.along, self._all_stages(shop), risky)

    def stage_begins(self, shop: Shop, stage: int) -> None:
        """Say how much will be used; keep it to be judged."""
        self.stage, self.spoiled = stage, defaultdict(int)
        self.use = {
            int(part): Use(int(self.left[stage, part]), self._belief(shop, part))
            for part in np.flatnonzero(self.left[stage])
        }
        self.review(shop)

    def worked(self, shop: Shop, stage: int, job: Job) -> None:
        """Learn from what was recorded; judge what was said when a part is done."""
        part = job.chunk.part
        self.left[stage, part] -= job.chunk.need
        self.moved[part] += job.used - job.unrecorded
        self.spoiled[part] += job.spoiled
        if not job.unrecorded:
            self._learn(shop, job)
        if not self.left[stage, part]:
            use = self.use[part]
            came = self.spoiled[part]
            self.said.append(Said(use.within(came - 1), use.within(came)))

    def run_out(self, shop: Shop, part: int, missing: int) -> None:
        """Order what is missing, and what is at risk along with it."""
        self.stated[part], self.moved[part] = 0, 0
        self._order(shop, self.settings.along, self._all_stages(shop), [part], missing)

    def _learn(self, shop: Shop, job: Job) -> None:
        name = shop.aircraft.parts[job.chunk.part].spoilage_class
        known = Belief(self.beliefs[name].good, self.beliefs[name].bad, self.bursts)
        part = split(Closed(job.chunk.need, job.spoiled), known)
        self.bursts = self.bursts.after(part.good, [part.burst] if part.burst else [])
        self.beliefs[name] = Belief(
            known.good + part.good, known.bad + part.ordinary, None
        )

    def _belief(self, shop: Shop, part: int) -> Belief:
        known = self.beliefs[shop.aircraft.parts[part].spoilage_class]
        return Belief(known.good, known.bad, self.bursts)

    def _all_stages(self, shop: Shop) -> int:
        return len(shop.aircraft.stages) - 1

    def _in_sight(self, shop: Shop) -> int:
        """The last stage that may begin before the next look's parcel could be here."""
        days = _LEAD + _MARGIN + REVIEW_DAYS
        pace = 12.0
        rest = self.left[self.stage :].sum(axis=1).cumsum()
        return self.stage + int(np.searchsorted(rest, days * pace, side="right"))

    def _stock(self, shop: Shop, part: int) -> Stock:
        facts = CountFacts(
            part,
            part,
            int(shop.recorded[part]),
            int(self.stated[part]),
            None,
            counted_by_hand=True,
            moved=int(self.moved[part]) + self._moved_beside(shop, part),
        )
        coming = int(shop.on_order()[part])
        arrivals = (Arrival(coming, 0.95),) if coming else ()
        return Stock(int(shop.recorded[part]), round(doubt(facts), 1), arrivals)

    def _moved_beside(self, shop: Shop, part: int) -> int:
        """What moved of the look-alikes: their pieces may have come from this bin."""
        return sum(
            int(self.moved[at]) // 2
            for at, each in enumerate(shop.aircraft.parts)
            if each.neighbour == part
        )

    def _deficit(self, shop: Shop, part: int, need: int) -> Deficit:
        return deficit(Use(need, self._belief(shop, part)), self._stock(shop, part))

    def _order(
        self,
        shop: Shop,
        share: float,
        stages: int,
        risky: list[int] | None = None,
        missing: int = 0,
    ) -> None:
        """One combined order through a stage; what is at risk is bought more surely."""
        needs = self.left[: stages + 1].sum(axis=0)
        wanted = {}
        for part in np.flatnonzero(needs):
            sure = self.settings.watch if part in (risky or []) else share
            found = self._deficit(shop, part, int(needs[part]))
            wanted[int(part)] = found.to_buy(sure)
        for part in risky or []:
            wanted[int(part)] = max(wanted.get(int(part), 0), missing, 1)
        asked = {part: pieces for part, pieces in wanted.items() if pieces > 0}
        if asked:
            for supplier, part_list in combined(tuple(shop.aircraft.parts), asked):
                shop.order(part_list, supplier)

    def _worth_counting(self, shop: Shop, inside: int) -> list[int]:
        """The few bins whose recount could change what is ordered."""
        needs = self.left[: inside + 1].sum(axis=0)
        worths = [
            (
                worth_of_counting(
                    Use(int(needs[part]), self._belief(shop, part)),
                    self._stock(shop, part),
                    self.settings.watch,
                ),
                int(part),
            )
            for part in np.flatnonzero(needs)
        ]
        worths = [
            each for each in worths if each[0] > _WORTH_COUNTING * self.settings.watch
        ]
        return [part for _worth, part in sorted(worths, reverse=True)[:_BINS_A_LOOK]]
