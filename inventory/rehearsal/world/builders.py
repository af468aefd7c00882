"""Simulated builders: how they spoil, forget, mistake tins and leave for months.

Every figure is common practice, no source, or a stated guess; none is fitted to how a way
of buying fares. The work of a build is drawn once, so that every way of buying meets
the same spoiled rivets, the same wrong tins and the same gaps.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inventory.rehearsal.seen.plan import Aircraft, Chunk
from inventory.rehearsal.seen.shop import Entry

# Spoilage in normal riveting 0 to 1.5 % (common practice): median and spread of it.
_SPOILED_MEDIAN, _SPOILED_SPREAD, _CLASS_SPREAD = 0.008, 0.6, 0.4
# Rework comes in bursts: about 30 driven wrong before anyone saw it (common practice);
# how often is a guess.
_PIECES_A_BURST, _BURST_SIZE = 2500, 30
# Guesses: a pull that nobody records, a tin mistaken for its neighbour and how many
# pieces are taken from it ('45 up, its neighbour 45 down').
_FORGOTTEN, _WRONG_TIN, _FROM_WRONG_TIN = 0.02, 0.02, 45
# 14 to 18 rivets an hour (computed from public reports), 4 to 10 hours a week (a guess).
_RIVETS_AN_HOUR, _HOURS_A_WEEK = (14, 18), (4, 10)
# After a stage the builder may be away for one to fourteen months: a guess.
_GAP_SHARE, _GAP_DAYS = 0.15, (30, 420)
_MOST_SPOILED = 0.08


@dataclass(frozen=True)
class Job:
    """One chunk as it will be worked: pieces spoiled, forgotten, from a wrong tin.

    `unrecorded` pieces leave their bin without a scan; `wrong` come from the
    neighbour's bin while the right one is scanned.
    """

    chunk: Chunk
    spoiled: int
    unrecorded: int
    wrong: int

    @property
    def used(self) -> int:
        return self.chunk.need + self.spoiled

    @property
    def entry(self) -> Entry:
        """What the record has of it."""
        pulled = self.used - self.unrecorded
        return Entry(self.chunk.part, self.chunk.need, pulled)


@dataclass(frozen=True)
class Work:
    """A build's whole work: jobs by stage, rivets a day, days away after each stage."""

    stages: Sequence[Sequence[Job]]
    pieces_a_day: float
    gaps: Sequence[int]


def draw(aircraft: Aircraft, rng: np.random.Generator) -> Work:
    """One builder's work on an aircraft."""
    rates = _rates(aircraft, rng)
    a_week = rng.uniform(*_RIVETS_AN_HOUR) * rng.uniform(*_HOURS_A_WEEK)
    away = rng.random(len(aircraft.stages)) < _GAP_SHARE
    days = rng.integers(*_GAP_DAYS, size=len(aircraft.stages))
    return Work(
        [
            [_job(aircraft, chunk, rates, rng) for chunk in stage]
            for stage in aircraft.stages
        ],
        a_week / 7,
        [int(day) if gone else 0 for gone, day in zip(away, days, strict=True)],
    )


def _rates(aircraft: Aircraft, rng: np.random.Generator) -> list[float]:
    """Each part's spoiled share: the builder's own, a class a little better or worse."""
    own = _SPOILED_MEDIAN * rng.lognormal(0.0, _SPOILED_SPREAD)
    classes = sorted({part.spoilage_class for part in aircraft.parts})
    hand = dict(
        zip(classes, rng.lognormal(0.0, _CLASS_SPREAD, len(classes)), strict=True)
    )
    return [
        float(min(own * hand[part.spoilage_class], _MOST_SPOILED))
        for part in aircraft.parts
    ]


def _job(
    aircraft: Aircraft, chunk: Chunk, rates: Sequence[float], rng: np.random.Generator
) -> Job:
    spoiled = int(rng.negative_binomial(chunk.need, 1 - rates[chunk.part]))
    for _ in range(int(rng.poisson(chunk.need / _PIECES_A_BURST))):
        spoiled += min(chunk.need, int(rng.geometric(1 / _BURST_SIZE)))
    used = chunk.need + spoiled
    forgets, mistakes = rng.random(2) < (_FORGOTTEN, _WRONG_TIN)
    has_neighbour = aircraft.parts[chunk.part].neighbour is not None
    return Job(
        chunk,
        spoiled,
        used if forgets else 0,
        min(used, _FROM_WRONG_TIN) if mistakes and has_neighbour else 0,
    )
