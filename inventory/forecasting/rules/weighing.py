"""Counting by weighing: how many, give or take, and what would make it exact.

The mean piece is learnt from a counted sample; the bulk's net mass over it is the
count. With cv the piece-to-piece spread over the mean and u the uncertainty of a net
mass (two readings: u^2 = 2 (d^2/12 + repeatability^2)), both in pieces,

    sd(N)^2 = cv^2 (N + N^2/n) + u_bulk^2 + (N/n)^2 u_sample^2

Source: the law of propagation of uncertainty, JCGM 100:2008 (GUM) 5.1 and 5.2 (from
memory). Masses in grams.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, erf, floor, inf, sqrt

import numpy as np

from inventory.errors import Refused
from inventory.forecasting.rules.counts import Floats

# Exact 19 times in 20: half a piece is 1.95996 standard deviations.
SURE, TWO_SIDED = 0.95, 1.959963984540054
EXACT_SD = 0.5 / TWO_SIDED
# Above this many pieces a division the count is lumpy and no normal curve fits.
ROUGH_DIVISION = 0.2
ROUGH = "The formula is rough: the scale's division is over a fifth of a piece."
# The sample's reading is off by up to a division, which counts N/n times: above so many
# pieces the chance said is up to an eighth too high (simulated).
ROUGH_SAMPLE = 1.0
SMALL = (
    "The sample is small for so many: what the scale rounds off in it counts over a piece "
    "in all. Count a larger sample."
)
BLIND = (
    "Weight can show that a whole tin is the wrong size, never that it is unmixed: a "
    "few pieces half a length off do not show. Look at them, or gauge them."
)


@dataclass(frozen=True)
class Scale:
    """Its division and the standard deviation of repeated readings, grams."""

    division: float
    repeatability: float = 0.0

    def __post_init__(self) -> None:
        if self.division <= 0 or self.repeatability < 0:
            raise _refused("a division above 0 g", self)

    @property
    def of_net(self) -> float:
        """Standard uncertainty of a net mass: two readings."""
        return sqrt(2 * (rectangular(self.division / 2) ** 2 + self.repeatability**2))


@dataclass(frozen=True)
class Sample:
    """So many counted pieces, their net mass in grams, and the spread of one piece."""

    pieces: int
    net: float
    cv: float

    def __post_init__(self) -> None:
        if self.pieces < 1 or self.net <= 0 or self.cv < 0:
            raise _refused("a sample of 1 piece or more with a net mass above 0", self)

    @property
    def piece(self) -> float:
        """Mass of one, grams."""
        return self.net / self.pieces


@dataclass(frozen=True)
class WeighedCount:
    """A count by weight.

    `low` to `high` holds the true count 19 times in 20, and is never one number where
    the formula is rough. `chance_exact` is that of the way of weighing, before it is
    known how near a whole number the result falls. `sample_wanted` is the sample
    that would make it exact, None where none does: then weigh lots of `lot` pieces at
    most, 0 where even one piece is too light for the scale.
    """

    count: int
    low: int
    high: int
    sd: float
    chance_exact: float
    why_rough: str
    sample_wanted: int | None
    lot: int

    @property
    def rough(self) -> bool:
        """Whether the formula says more than it knows; `why_rough` in a sentence."""
        return bool(self.why_rough)

    @property
    def is_exact(self) -> bool:
        """Good enough to be taken for a count; never where the formula is rough."""
        return self.chance_exact >= SURE and not self.rough

    @property
    def words(self) -> str:
        """'690 to 705', or the one number where that is certain enough."""
        if self.is_exact or self.low == self.high:
            return f"{self.count}"
        return f"{self.low} to {self.high}"

    @property
    def notes(self) -> tuple[str, ...]:
        """What the reader has to know besides."""
        return (self.why_rough, BLIND) if self.rough else (BLIND,)


def weigh(gross: float, tare: float, sample: Sample, scale: Scale) -> WeighedCount:
    """The count of what is in a container, by its gross mass and tare.

    Refused: forecasting.weighing, where the tare is more than the gross mass.
    """
    if tare < 0 or gross < tare:
        raise _refused("a gross mass of the tare or more", (gross, tare))
    about = (gross - tare) / sample.piece
    unit = scale.of_net / sample.piece
    sd = spread(about, sample.pieces, sample.cv, unit)
    count = round(about)
    why = _why_rough(about, sample, scale)
    slack = 1 if why else 0
    return WeighedCount(
        count=count,
        low=max(0, min(count - slack, ceil(about - TWO_SIDED * sd))),
        high=max(count + slack, floor(about + TWO_SIDED * sd)),
        sd=sd,
        chance_exact=chance_exact(sd),
        why_rough=why,
        sample_wanted=sample_for(count, sample.cv, unit),
        lot=largest_exact(sample.pieces, sample.cv, unit),
    )


def _why_rough(about: float, sample: Sample, scale: Scale) -> str:
    division = scale.division / sample.piece
    if division > ROUGH_DIVISION:
        return ROUGH
    return SMALL if division * about / sample.pieces > ROUGH_SAMPLE else ""


def spread(about: float, pieces: int, cv: float, unit: float) -> float:
    """Standard deviation of a count; `unit` is a net mass's uncertainty in pieces."""
    variances = np.array([cv**2 * about + unit**2, cv**2 * pieces + unit**2])
    slopes = np.array([1.0, about / pieces])
    return propagated(slopes, np.diag(variances))


def chance_exact(sd: float) -> float:
    """The chance that rounding gives the true count, by the normal curve."""
    return erf(0.5 / (sd * sqrt(2))) if sd else 1.0


def sample_for(count: int, cv: float, unit: float) -> int | None:
    """The smallest sample that makes `count` exact 19 times in 20; None if none does."""
    left = EXACT_SD**2 - cv**2 * count - unit**2
    if left <= 0:
        return None
    square = (cv * count) ** 2
    root = sqrt(square**2 + 4 * left * (unit * count) ** 2)
    return max(1, ceil((square + root) / (2 * left)))


def largest_exact(pieces: int, cv: float, unit: float) -> int:
    """The largest count that a sample of so many pieces makes exact 19 times in 20.

    The root of the variance in N, which is a parabola.
    """
    left = EXACT_SD**2 - unit**2
    if left <= 0:
        return 0
    square = cv**2 / pieces + (unit / pieces) ** 2
    if square == 0:
        raise _refused("some spread of the pieces or of the scale", (cv, unit))
    root = sqrt(cv**4 + 4 * square * left)
    return floor((root - cv**2) / (2 * square))


def rectangular(half: float) -> float:
    """Standard uncertainty of anything within +/- half, all alike: GUM 4.3.7."""
    return half / sqrt(3)


def propagated(slopes: Floats, covariance: Floats) -> float:
    """Standard uncertainty of a result from its inputs': GUM 5.1.2 and 5.2.2."""
    return sqrt(float(slopes @ covariance @ slopes))


def repeated(readings: Sequence[float]) -> tuple[float, float, float]:
    """Mean, standard deviation, and the mean's standard uncertainty: GUM 4.2.

    Refused: forecasting.weighing below two readings.
    """
    if len(readings) < 2:
        raise _refused("two readings or more", tuple(readings))
    sd = float(np.std(readings, ddof=1))
    return float(np.mean(readings)), sd, sd / sqrt(len(readings))


def cv_of(singles: Sequence[float], scale: Scale) -> float:
    """Piece-to-piece spread from pieces weighed one by one, the scale's own taken out."""
    mean, sd, _ = repeated(singles)
    own = rectangular(scale.division / 2) ** 2 + scale.repeatability**2
    return sqrt(max(0.0, sd**2 - own)) / mean if mean > 0 else inf


def _refused(expected: str, got: object) -> Refused:
    return Refused(
        "forecasting.weighing",
        f"Expected {expected}; got {got}. Weigh again.",
        {"expected": expected, "got": str(got)},
    )
