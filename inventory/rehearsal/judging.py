"""Were the figures true? What was said when a stage began, against what came of it.

Counts are discrete: a figure said to hold in 80 of 100 cases holds in more. So each is
judged by its randomised place in the forecast (scores.pit), and how often the figure
itself held is told beside it. Items of one build share a builder and are not
independent; the exact binomial band is for one stage's item of each build, drawn by lot.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass

import numpy as np

from inventory.forecasting.rules.scores import band, pit
from inventory.rehearsal.policy.product import Said
from inventory.rehearsal.world.builders import Work

SHARES = (0.5, 0.8, 0.95)


@dataclass(frozen=True)
class Judged:
    """One thing said: its randomised place, and whether each of SHARES' figures held."""

    place: float
    held: tuple[bool, ...]


@dataclass(frozen=True)
class Calibration:
    """One share's figures: how often they held, and one of each build in the band.

    `placed` and `held` are shares of all `said`; `misses` of `builds` ones drawn by
    lot may be `low` to `high`.
    """

    share: float
    said: int
    placed: float
    held: float
    builds: int
    misses: int
    low: int
    high: int

    @property
    def is_true(self) -> bool:
        """Within the exact binomial band, on both sides."""
        return self.low <= self.misses <= self.high

    def as_data(self) -> dict[str, object]:
        """For JSON."""
        return {**asdict(self), "in_band": self.is_true}


def judged(
    said: Iterable[Said], work: Work, rng: np.random.Generator
) -> tuple[Judged, ...]:
    """All that was said in a build, judged when the work on it was done."""
    came: dict[tuple[int, int], int] = defaultdict(int)
    for stage, jobs in enumerate(work.stages):
        for job in jobs:
            came[stage, job.chunk.part] += job.spoiled
    return tuple(_judged(each, came[each.stage, each.part], rng) for each in said)


def _judged(said: Said, came: int, rng: np.random.Generator) -> Judged:
    held = tuple(came <= said.spoiled.at(share) for share in SHARES)
    return Judged(pit(said.spoiled, came, float(rng.random())), held)


def calibration(
    builds: Sequence[Sequence[Judged]], rng: np.random.Generator
) -> tuple[Calibration, ...]:
    """The calibration of each of SHARES over builds."""
    every = [each for build in builds for each in build]
    drawn = [build[int(rng.integers(len(build)))] for build in builds]
    return tuple(_calibrated(at, every, drawn) for at in range(len(SHARES)))


def _calibrated(
    at: int, every: Sequence[Judged], drawn: Sequence[Judged]
) -> Calibration:
    share = SHARES[at]
    low, high = band(len(drawn), 1 - share)
    return Calibration(
        share,
        len(every),
        sum(each.place <= share for each in every) / len(every),
        sum(each.held[at] for each in every) / len(every),
        len(drawn),
        sum(each.place > share for each in drawn),
        low,
        high,
    )
