"""Rehearsals: the same builds under every way of buying, drawn from one seed."""

import os
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, fields
from functools import partial
from multiprocessing import get_context

import numpy as np

from inventory.rehearsal.judging import Calibration, Judged, calibration, judged
from inventory.rehearsal.policy.habits import (
    KeepLevel,
    PlanAndLook,
    PlanPlusByNeed,
    PlanPlusTenth,
)
from inventory.rehearsal.policy.product import Gripcount
from inventory.rehearsal.seen.plan import Aircraft
from inventory.rehearsal.seen.shop import Policy
from inventory.rehearsal.world.aircraft import RANDOM_RIVETS, at_random
from inventory.rehearsal.world.builders import Work
from inventory.rehearsal.world.builds import SimulatedShop, build
from inventory.rehearsal.world.worlds import WORLDS

AIRCRAFT = ("demo", "random")
HABITS: tuple[Callable[[], Policy], ...] = (
    PlanPlusTenth,
    PlanPlusByNeed,
    PlanAndLook,
    KeepLevel,
)
# Against each habit, the share of its stops that is to be reached.
GOALS = {PlanPlusTenth.name: 0.1, PlanAndLook.name: 0.5}
_WORK, _MARKET, _JUDGE, _LOT, _AGAIN = range(5)
# Builds are drawn again so often, with replacement, for the 95 % interval of a ratio.
_RESAMPLED = 2000


@dataclass(frozen=True)
class Fare:
    """How builds fared: of one build, or the mean of several.

    Stages that stopped, days lost, parcels, money spent, pieces left over, looks into
    bins, bins counted, minutes of both.
    """

    stopped: float
    days_lost: float
    parcels: float
    money: float
    left: float
    looks: float
    counts: float
    minutes: float

    @classmethod
    def of(cls, shop: SimulatedShop) -> "Fare":
        return cls(
            len(shop.stopped),
            shop.lost_days,
            shop.parcels,
            shop.money,
            int(shop.here.sum()),
            shop.looked,
            shop.counted,
            shop.minutes,
        )

    @classmethod
    def mean(cls, fares: Sequence["Fare"]) -> "Fare":
        """The mean a build."""
        names = [each.name for each in fields(cls)]
        return cls(*(sum(getattr(f, n) for f in fares) / len(fares) for n in names))

    def as_data(self) -> dict[str, float]:
        """For JSON."""
        return {name: round(value, 4) for name, value in asdict(self).items()}


@dataclass(frozen=True)
class Target:
    """The program against one habit, means a build.

    `ratio` of its stops to the habit's, `low` to `high` with a chance of 95 %, None where
    the habit never stopped; `dearer` in money and `longer` in minutes, below nought where
    the program takes less. `goal` is the ratio that is to be reached.
    """

    against: str
    goal: float
    stopped: float
    ratio: float | None
    low: float
    high: float
    dearer: float
    longer: float

    @property
    def stops_reached(self) -> bool:
        return self.stopped == 0 or (self.ratio is not None and self.ratio <= self.goal)

    @property
    def money_reached(self) -> bool:
        return self.dearer <= 0


@dataclass(frozen=True)
class Series:
    """One aircraft's builds in one world: mean fares, and the targets."""

    world: str
    aircraft: str
    fares: Mapping[str, Fare]
    targets: Sequence[Target]


@dataclass(frozen=True)
class Rehearsal:
    """All that a rehearsal found; the calibration by world."""

    builds: int
    seed: int
    series: Sequence[Series]
    calibration: Mapping[str, Sequence[Calibration]]


@dataclass(frozen=True)
class BuildSource:
    """What the builds are drawn from: the seed, how many, the demo's aircraft, and how
    many rivets a random one has."""

    demo: Aircraft
    builds: int
    seed: int
    rivets: int = RANDOM_RIVETS

    def work(self, world: int, kind: str, number: int) -> tuple[Aircraft, Work]:
        """One build's aircraft and work."""
        rng = self.rng(world, kind, number, _WORK)
        flown = self.demo if kind == "demo" else at_random(rng, self.rivets)
        return flown, WORLDS[world].draw(flown, rng)

    def rng(self, world: int, kind: str, number: int, use: int) -> np.random.Generator:
        """A stream of its own for each use of chance in a build."""
        return np.random.default_rng(
            [self.seed, world, AIRCRAFT.index(kind), number, use]
        )


Progress = Callable[[str], None]
Build = tuple[dict[str, Fare], tuple[Judged, ...]]


def rehearse(drawing: BuildSource, tell: Progress) -> Rehearsal:
    """Every build of both aircraft in both worlds, under every way of buying.

    As many at a time as there are processors, in processes of their own: the solver
    prints stray lines, which nobody is to read.
    """
    series, calibrated = [], {}
    apart = get_context("spawn")
    with ProcessPoolExecutor(mp_context=apart, initializer=_silent) as pool:
        for at, world in enumerate(WORLDS):
            said: list[tuple[Judged, ...]] = []
            for kind in AIRCRAFT:
                fares: dict[str, list[Fare]] = defaultdict(list)
                tried = pool.map(partial(one, drawing, at, kind), range(drawing.builds))
                for number, (found, judgements) in enumerate(tried, 1):
                    said.append(judgements)
                    for name, fare in found.items():
                        fares[name].append(fare)
                    tell(f"{world.name}, {kind}: {number} of {drawing.builds} builds")
                again = drawing.rng(at, kind, drawing.builds, _AGAIN)
                means = {name: Fare.mean(each) for name, each in fares.items()}
                series.append(Series(world.name, kind, means, targets(fares, again)))
            lot = drawing.rng(at, AIRCRAFT[0], drawing.builds, _LOT)
            calibrated[world.name] = calibration(said, lot)
    return Rehearsal(drawing.builds, drawing.seed, series, calibrated)


def _silent() -> None:
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)


def one(drawing: BuildSource, world: int, kind: str, number: int) -> Build:
    """A build's fare under every way of buying, and what the program said, judged."""
    flown, work = drawing.work(world, kind, number)
    ours, fares = Gripcount(), {}
    for policy in (*(habit() for habit in HABITS), ours):
        market = drawing.rng(world, kind, number, _MARKET)
        shop = build(flown, work, policy, market, WORLDS[world].days)
        fares[policy.name] = Fare.of(shop)
    judge = drawing.rng(world, kind, number, _JUDGE)
    return fares, judged(ours.said, work, judge)


Fares = Mapping[str, Sequence[Fare]]


def targets(fares: Fares, rng: np.random.Generator) -> list[Target]:
    """The program against each habit that has a goal, in the same builds."""
    ours = fares[Gripcount.name]
    at = rng.integers(len(ours), size=(_RESAMPLED, len(ours)))
    return [_target(name, goal, ours, fares[name], at) for name, goal in GOALS.items()]


def _target(
    name: str,
    goal: float,
    ours: Sequence[Fare],
    theirs: Sequence[Fare],
    at: np.ndarray,
) -> Target:
    mine, other = Fare.mean(ours), Fare.mean(theirs)
    stops = np.array(
        [[a.stopped, b.stopped] for a, b in zip(ours, theirs, strict=True)]
    )
    sums = stops[at].sum(axis=1)
    ratios = sums[:, 0] / np.maximum(sums[:, 1], 1e-9)
    low, high = np.quantile(ratios, (0.025, 0.975))
    return Target(
        name,
        goal,
        mine.stopped,
        mine.stopped / other.stopped if other.stopped else None,
        float(low),
        float(high),
        mine.money - other.money,
        mine.minutes - other.minutes,
    )
