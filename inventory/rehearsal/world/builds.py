"""One simulated build under one way of buying: stock, days, parcels, money, stops."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

import numpy as np

from inventory.rehearsal.seen.plan import Aircraft
from inventory.rehearsal.seen.prices import Seller, cheaper
from inventory.rehearsal.seen.shop import (
    COUNT_MINUTES,
    HUNDRED_MINUTES,
    LOOK_MINUTES,
    LOOK_SPREAD,
    NEARLY_EMPTY,
    REVIEW_DAYS,
    Policy,
)
from inventory.rehearsal.world.builders import Job, Work
from inventory.rehearsal.world.parcels import Days, Parcel, buy, days_taken

# Days between ordering the first stock and the first rivet.
_LEAD_IN = 21
# A weighed bag is booked so much over or under what is in it.
_BOOKED_SPREAD = 0.01


@dataclass
class SimulatedShop:
    """The shop as it is and as its record says, and what it may do: order and count.

    `here` is what is in the bins, `recorded` what the record says; a way of buying
    looks at the record, or glances into the bins, unless it counts one.
    """

    aircraft: Aircraft
    market: np.random.Generator
    days: Days = days_taken
    day: int = 0
    money: float = 0.0
    parcels: int = 0
    counted: int = 0
    looked: int = 0
    minutes: float = 0.0
    lost_days: int = 0
    stopped: set[int] = field(default_factory=set)
    coming: list[Parcel] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.here = np.zeros(len(self.aircraft.parts), dtype=int)
        self.recorded, self.booked = np.zeros((2, len(self.aircraft.parts)), dtype=int)

    def order(self, wanted: Mapping[int, int], supplier: Seller | None = None) -> None:
        """Buy so many pieces of each part, from the cheaper supplier if none is named."""
        asked = {at: int(n) for at, n in wanted.items() if n > 0}
        if not asked:
            return
        parts = tuple(self.aircraft.parts)
        seller = supplier or cheaper(parts, asked)[0]
        bought = buy(parts, asked, seller, self.day, self.market, self.days)
        self.coming.append(bought.parcel)
        self.money += bought.price
        self.parcels += 1

    def count(self, part: int) -> None:
        """Recount a bin: the record says what is there."""
        self.recorded[part] = self.here[part]
        self.counted += 1
        self.minutes += COUNT_MINUTES + HUNDRED_MINUTES * int(self.here[part]) / 100

    def restate(self, part: int, pieces: int) -> None:
        """The record says what was seen in a bin."""
        self.recorded[part] = pieces

    def pull_late(self, part: int, pieces: int) -> None:
        """Record a pull that was forgotten: the record goes down, the bin does not."""
        self.recorded[part] = max(0, self.recorded[part] - pieces)

    def look(self, parts: Collection[int]) -> dict[int, float]:
        """What some bins look like: pieces by part, give or take a share of them."""
        self.looked += len(parts)
        self.minutes += LOOK_MINUTES * len(parts)
        spread = self.market.normal(1.0, LOOK_SPREAD, len(parts))
        return {
            at: float(self.here[at] * off)
            for at, off in zip(parts, spread, strict=True)
        }

    def on_order(self) -> np.ndarray:
        """Pieces on the way by part."""
        total = np.zeros(len(self.aircraft.parts), dtype=int)
        for parcel in self.coming:
            for at, pieces in parcel.pieces.items():
                total[at] += pieces
        return total

    def receive(self) -> bool:
        """Put away what has come by today; what is weighed is booked a little off."""
        come = [each for each in self.coming if each.arrives <= self.day]
        for parcel in come:
            self.coming.remove(parcel)
            for at, pieces in parcel.pieces.items():
                self.here[at] += pieces
                off = self.market.normal(0.0, _BOOKED_SPREAD)
                booked = max(0, round(pieces * (1 + off)))
                self.recorded[at] += booked
                self.booked[at] += booked
        return bool(come)


def build(
    aircraft: Aircraft,
    work: Work,
    policy: Policy,
    market: np.random.Generator,
    days: Days = days_taken,
) -> SimulatedShop:
    """Work a whole aircraft; the shop at its end says what happened."""
    shop = SimulatedShop(aircraft, market, days)
    policy.begin(shop)
    _wait(shop, policy, _LEAD_IN)
    for at, jobs in enumerate(work.stages):
        policy.stage_begins(shop, at)
        spent = 0.0
        for job in jobs:
            _take(shop, policy, at, job)
            policy.worked(shop, at, job.entry)
            left = int(shop.here[job.chunk.part])
            if left < NEARLY_EMPTY:
                policy.nearly_empty(shop, job.chunk.part, left)
            spent += job.chunk.need / work.pieces_a_day
            _wait(shop, policy, int(spent))
            spent -= int(spent)
        _wait(shop, policy, work.gaps[at])
    return shop


def _wait(shop: SimulatedShop, policy: Policy, days: int) -> None:
    """Days go by: parcels come, and now and then the way of buying looks."""
    for _ in range(days):
        shop.day += 1
        if shop.receive():
            policy.received(shop)
        if shop.day % REVIEW_DAYS == 0:
            policy.review(shop)


def _take(shop: SimulatedShop, policy: Policy, stage: int, job: Job) -> None:
    """Take the pieces of a job, waiting for parcels while the bin is empty."""
    part, neighbour = job.chunk.part, shop.aircraft.parts[job.chunk.part].neighbour
    wrong = 0
    if job.wrong and neighbour is not None:
        wrong = min(job.wrong, int(shop.here[neighbour]))
        shop.here[neighbour] -= wrong
    left = job.used - wrong
    while left > shop.here[part]:
        left -= int(shop.here[part])
        shop.here[part] = 0
        _stand(shop, policy, stage, part, left)
    shop.here[part] -= left
    # The hand is right: a pull beyond the record leaves it at nought.
    shop.recorded[part] = max(0, shop.recorded[part] - job.entry.pulled)


def _stand(
    shop: SimulatedShop, policy: Policy, stage: int, part: int, missing: int
) -> None:
    """The stage stands until the part comes; it is ordered now if nobody did."""
    shop.stopped.add(stage)
    shop.recorded[part] = 0
    if not any(part in parcel.pieces for parcel in shop.coming):
        policy.run_out(shop, part, missing)
    arrives = min(each.arrives for each in shop.coming if part in each.pieces)
    before = shop.day
    _wait(shop, policy, max(1, arrives - shop.day))
    shop.lost_days += shop.day - before
