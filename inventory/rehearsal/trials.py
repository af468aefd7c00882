"""Rehearsals: the same builds under every way of buying, drawn from one seed."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, fields

import numpy as np

from inventory.rehearsal.judging import Calibration, Judged, calibration, judged
from inventory.rehearsal.policy.forecasting import Care, Forecast
from inventory.rehearsal.policy.habits import KeepLevel, PlanPlusTenth
from inventory.rehearsal.seen.plan import Aircraft
from inventory.rehearsal.seen.shop import Policy
from inventory.rehearsal.world.aircraft import at_random
from inventory.rehearsal.world.builders import Work, draw
from inventory.rehearsal.world.builds import SimulatedShop, build

AIRCRAFT = ("demo", "random")
# The first order for so much less or more money than the forecast's own, for the
# trade-off of money against stops.
SPENT = (-60.0, -30.0, 60.0)
_WORK, _MARKET, _JUDGE, _LOT = range(4)


@dataclass(frozen=True)
class Fare:
    """How builds fared: of one build, or the mean of several.

    Stages that stopped, days lost, parcels, money spent, pieces left over, recounts.
    """

    stopped: float
    days_lost: float
    parcels: float
    money: float
    left: float
    recounts: float

    @classmethod
    def of(cls, shop: SimulatedShop) -> "Fare":
        return cls(
            len(shop.stopped),
            shop.lost_days,
            shop.parcels,
            shop.money,
            int(shop.here.sum()),
            shop.counted,
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
class Series:
    """One aircraft's builds: the mean fare of each way of buying, the trade-off curve."""

    aircraft: str
    fares: Mapping[str, Fare]
    curve: Mapping[float, Fare]


@dataclass(frozen=True)
class Rehearsal:
    """All that a rehearsal found."""

    builds: int
    seed: int
    series: Sequence[Series]
    calibration: Sequence[Calibration]


@dataclass(frozen=True)
class BuildSource:
    """What the builds are drawn from: the seed, how many, and the demo's aircraft."""

    demo: Aircraft
    builds: int
    seed: int

    def works(self, kind: str) -> Iterator[tuple[int, Aircraft, Work]]:
        """Each build's number, aircraft and work."""
        for number in range(self.builds):
            rng = self.rng(kind, number, _WORK)
            flown = self.demo if kind == "demo" else at_random(rng)
            yield number, flown, draw(flown, rng)

    def rng(self, kind: str, number: int, use: int) -> np.random.Generator:
        """A stream of its own for each use of chance in a build."""
        return np.random.default_rng([self.seed, AIRCRAFT.index(kind), number, use])


Progress = Callable[[str], None]


def rehearse(drawing: BuildSource, tell: Progress, *, curve: bool = False) -> Rehearsal:
    """Every build of both aircraft under every way of buying.

    The curve is drawn too where a target is missed.
    """
    series, said = [], []
    for kind in AIRCRAFT:
        fares, judgements = _compared(drawing, kind, tell)
        drawn = curve or not all(reached(fares))
        series.append(Series(kind, fares, _curve(drawing, kind, tell) if drawn else {}))
        said += judgements
    lot = drawing.rng(AIRCRAFT[0], drawing.builds, _LOT)
    return Rehearsal(drawing.builds, drawing.seed, series, calibration(said, lot))


def _compared(
    drawing: BuildSource, kind: str, tell: Progress
) -> tuple[dict[str, Fare], list[tuple[Judged, ...]]]:
    fares: dict[str, list[Fare]] = {}
    said = []
    for number, flown, work in drawing.works(kind):
        ours = Forecast()
        for policy in (PlanPlusTenth(), KeepLevel(), ours):
            market = drawing.rng(kind, number, _MARKET)
            fares.setdefault(policy.name, []).append(_fare(flown, work, policy, market))
        said.append(judged(ours.said, work, drawing.rng(kind, number, _JUDGE)))
        tell(f"{kind}: {number + 1} of {drawing.builds} builds")
    return {name: Fare.mean(each) for name, each in fares.items()}, said


def _curve(drawing: BuildSource, kind: str, tell: Progress) -> dict[float, Fare]:
    """The forecast's fares in the same builds when it spends less or more at first."""
    found: dict[float, list[Fare]] = {more: [] for more in SPENT}
    for number, flown, work in drawing.works(kind):
        for more in SPENT:
            market = drawing.rng(kind, number, _MARKET)
            policy = Forecast(Care(kept=Care.kept - more))
            found[more].append(_fare(flown, work, policy, market))
        tell(f"{kind}, trade-off: {number + 1} of {drawing.builds} builds")
    return {more: Fare.mean(fares) for more, fares in found.items()}


def _fare(
    flown: Aircraft, work: Work, policy: Policy, market: np.random.Generator
) -> Fare:
    return Fare.of(build(flown, work, policy, market))


@dataclass(frozen=True)
class Target:
    """The forecast against one habit: stops a tenth of its, at no more money.

    `ratio` is None where the habit never stopped. Means a build.
    """

    against: str
    stopped: float
    allowed: float
    ratio: float | None
    dearer: float

    @property
    def stops_reached(self) -> bool:
        return self.stopped <= self.allowed

    @property
    def money_reached(self) -> bool:
        return self.dearer <= 0


def targets(fares: Mapping[str, Fare]) -> list[Target]:
    """What is to be reached: a tenth of each habit's stopped stages, no more money."""
    ours = fares[Forecast.name]
    return [
        Target(
            name,
            ours.stopped,
            fare.stopped / 10,
            ours.stopped / fare.stopped if fare.stopped else None,
            ours.money - fare.money,
        )
        for name, fare in fares.items()
        if name != Forecast.name
    ]


def reached(fares: Mapping[str, Fare]) -> list[bool]:
    """Of each target, whether it was reached."""
    return [each.stops_reached and each.money_reached for each in targets(fares)]
