"""Drill bits: how long they last, learnt from the record, and how many a job takes.

A bit's life in equivalent holes is Weibull: P(L > t) = exp(-rate t^shape), and counted
in whole holes the same at whole t. Every sharpening begins a life of its own; bits in
use, lost or set aside are lives not yet ended (right-censored).

The handbook prior: ln shape is normal around ln 2; given the shape the rate is a gamma
worth so many worn bits, whose median life is the handbook's for every shape. The rate
is then integrated in closed form, the shape on a grid.

Source: the gamma prior of a Weibull's rate is standard; the rest is computed. No
published life of a drill in aluminium was found: the prior is a guess (from memory).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from inventory.errors import Refused
from inventory.forecasting.rules.counts import NONE, Count, Floats
from inventory.forecasting.rules.renewals import life_by_steps, worn_out

# Shapes for a chance, and the fewer shapes and rates that a count is mixed over.
SHAPES, FEW_SHAPES, RATES = 401, 11, 17
FAINT = 1e-5
# Steps that a job's holes are cut into at most; more only refine the third digit.
STEPS = 64
# Worn bits from which the record speaks: a choice, no source.
ENOUGH = 5
ENDED = frozenset({"dull", "broken", "resharpened"})


@dataclass(frozen=True)
class Prior:
    """A guess: median life in equivalent holes, worth so many worn bits; the shape.

    Worth 0 is no opinion on the life: the record alone.
    """

    median: float = 300.0
    worth: float = 2.0
    shape: float = 2.0
    spread: float = 0.3


@dataclass(frozen=True)
class BitLife:
    """What is believed of one size's life: bits worn out, and those not yet.

    Both in equivalent holes since last sharp. Refused: forecasting.bits.
    """

    worn: tuple[float, ...] = ()
    in_use: tuple[float, ...] = ()
    prior: Prior = Prior()

    def __post_init__(self) -> None:
        if min(self.worn, default=1) <= 0 or min(self.in_use, default=0) < 0:
            raise Refused(
                "forecasting.bits",
                "Expected more than 0 holes on each worn bit, 0 or more on the others; "
                f"got {self.worn} and {self.in_use}. Leave out bits never used.",
                {"expected": "holes of 0 or more", "got": (self.worn, self.in_use)},
            )

    @property
    def posterior(self) -> "Posterior":
        """Weights of the shapes, and the rate's gamma at each."""
        return _posterior(self)

    @property
    def is_guess(self) -> bool:
        """Whether the prior still outweighs the record: fewer worn bits than ENOUGH."""
        return len(self.worn) < ENOUGH

    @property
    def median(self) -> float:
        """The holes half of all fresh bits reach, to a tenth."""
        return self.reached_by(0.5)

    def reached_by(self, share: float) -> float:
        """The holes that so many of all fresh bits reach, to a tenth."""
        low, high = 0.0, 10 * max(self.prior.median, *self.worn, *self.in_use, 1.0)
        while high - low > 0.1:
            middle = (low + high) / 2
            lasts = self.chance_lasts(0.0, middle) > share
            low, high = (middle, high) if lasts else (low, middle)
        return (low + high) / 2

    def chance_lasts(self, age: float, holes: float) -> float:
        """P(a bit with `age` equivalent holes on it does `holes` more).

        The ratio of survivals is averaged, not the ratio of averages. A used bit
        belongs in `in_use` too, for it has lasted so far.
        """
        at = self.posterior
        more = at.power(age + holes) - at.power(age)
        return float(at.weights @ np.exp(-at.events * np.log1p(more / at.exposure)))

    def bits_for(self, holes: float, age: float | None = None) -> Count:
        """Fresh bits wanted for so many equivalent holes.

        `age` is on the bit now fitted; None where none is, and the first counts too.
        Bits share one unknown life, so their doubts do not average out: the count is
        mixed over shape and rate.
        """
        return _bits_for(self, holes, age)


@lru_cache(maxsize=512)
def _bits_for(life: BitLife, holes: float, age: float | None) -> Count:
    if holes <= 0:
        return NONE
    found = _worn_over(life, holes, age or 0.0)
    if age is None:
        return Count(np.concatenate(([0.0], found.pmf)))
    return found


@dataclass(frozen=True, eq=False)
class Posterior:
    """At each shape its weight, and the rate's gamma: `events` over `exposure`.

    Times are in units of the prior's median, so that powers stay near 1.
    """

    shapes: Floats
    weights: Floats
    exposure: Floats
    events: float
    unit: float

    def power(self, holes: float) -> Floats:
        """(holes in units of the median)^shape."""
        return np.asarray((holes / self.unit) ** self.shapes)


def log_evidence(life: BitLife, shapes: Floats) -> Floats:
    """ln of the record's likelihood at each shape, the rate integrated out."""
    prior, units = life.prior, np.array(life.worn) / life.prior.median
    base = _gamma_over(prior, shapes)
    weight = prior.worth * np.log(base) if prior.worth else np.zeros(shapes.shape)
    events = prior.worth + units.size
    return np.asarray(
        weight
        + units.size * np.log(shapes)
        + (shapes - 1) * np.log(units).sum()
        - events * np.log(base + _exposure(life, shapes))
    )


def _gamma_over(prior: Prior, shapes: Floats) -> Floats:
    """The gamma's second parameter that puts the median life at 1 unit."""
    over = 1 / (2 ** (1 / prior.worth) - 1) if prior.worth else 0.0
    return np.full(shapes.shape, over)


def _exposure(life: BitLife, shapes: Floats) -> Floats:
    times = np.array([*life.worn, *life.in_use]) / life.prior.median
    return np.asarray((times[:, None] ** shapes[None, :]).sum(axis=0))


@lru_cache(maxsize=256)
def _posterior(life: BitLife) -> Posterior:
    prior = life.prior
    away = np.linspace(-5.0, 5.0, SHAPES)
    shapes = prior.shape * np.exp(prior.spread * away)
    level = log_evidence(life, shapes) - away**2 / 2
    weights = np.exp(level - level.max())
    exposure = _gamma_over(prior, shapes) + _exposure(life, shapes)
    events = prior.worth + len(life.worn)
    return Posterior(shapes, weights / weights.sum(), exposure, events, prior.median)


@lru_cache(maxsize=256)
def _worn_over(life: BitLife, holes: float, age: float) -> Count:
    shapes, rates, weights = nodes(life.posterior)
    steps = max(1, min(STEPS, round(holes)))
    hazard = rates[:, None], shapes[:, None]

    def survival(at: Floats) -> Floats:
        return _alive(at[None, :], *hazard, 0.0)

    def rest(at: Floats) -> Floats:
        return _alive(at[None, :], *hazard, age / life.prior.median)

    unit, width = life.prior.median, holes / steps
    first = life_by_steps(lambda at: rest(at / unit), steps, width)
    later = life_by_steps(lambda at: survival(at / unit), steps, width)
    return worn_out(first, later, weights, width)


def _alive(at: Floats, rate: Floats, shape: Floats, age: float) -> Floats:
    return np.asarray(np.exp(-rate * ((at + age) ** shape - age**shape)))


def nodes(at: Posterior) -> tuple[Floats, Floats, Floats]:
    """Shapes, rates and weights that stand for the posterior, faint ones left out."""
    reached = np.cumsum(at.weights)
    middles = (np.arange(FEW_SHAPES) + 0.5) / FEW_SHAPES
    few = np.searchsorted(reached, middles)
    # ln of a gamma(a): from about -(5/sqrt a + 6/a) to 5/sqrt a around ln a.
    low, high = 5 / at.events**0.5 + 6 / at.events, 5 / at.events**0.5
    logs = np.linspace(-low, high, RATES)
    density = np.exp(at.events * (logs - np.exp(logs) + 1))
    rates = at.events * np.exp(logs)[None, :] / at.exposure[few][:, None]
    weights = np.broadcast_to(density / density.sum(), rates.shape) / FEW_SHAPES
    shapes = np.broadcast_to(at.shapes[few][:, None], rates.shape)
    kept = weights > FAINT * weights.max()
    chosen = weights[kept]
    return shapes[kept], rates[kept], chosen / chosen.sum()


def lives(
    events: Iterable[tuple[str, float]], now: float = 0.0
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """One bit's lives: those ended, and the one not yet, in equivalent holes.

    `events` are its words in order with the holes since last sharp. Dull and broken
    end a life; so does a sharpening of a bit that nobody called dull, for people
    sharpen what no longer cuts. `now` is on it since then.
    """
    worn: list[float] = []
    alive = True
    for event, holes in events:
        if event in ENDED and alive and holes > 0:
            worn.append(holes)
        alive = event == "resharpened" or (alive and event not in ENDED)
    return tuple(worn), (now,) if alive and now > 0 else ()
