"""A second world: builders whose evenings differ, who learn, and who get help.

Every figure is a stated guess, no source. It shares no figure and no form with the first
world (`builders`, `parcels`), and was not looked at when a way of buying was chosen.
"""

from dataclasses import dataclass
from math import exp, log

import numpy as np

from inventory.rehearsal.seen.plan import Aircraft, Chunk
from inventory.rehearsal.seen.prices import Seller
from inventory.rehearsal.world.builders import Job, Work

# A beginner's spoiled share and what it comes to with the pieces set: it falls by a
# factor of e every so many pieces.
_AT_FIRST, _IN_THE_END, _LEARNING = 0.022, 0.006, 4000.0
# One evening is like the last by so much, and differs by so much of itself (log).
_LIKE, _MOOD = 0.6, 0.5
# What one evening spoils is negative binomial of so small a size: mostly none, then many.
_SIZE = 0.5
# Some builders have a friend's help with a part of the work, whose hand is poorer.
_HELPED, _FRIENDS_PART, _POORER = 0.3, 0.2, 3.0
# A bag is left half scanned; a whole job is driven from the neighbour's tin.
_HALF_SCANNED, _WHOLE_JOB = 0.03, 0.01
# Rivets a week, as a median and a spread (log); months away, likewise.
_A_WEEK, _A_WEEK_SPREAD = 90.0, 0.5
_AWAY, _AWAY_DAYS, _AWAY_SPREAD = 0.10, 60.0, 1.0
_MOST = 0.25
# Days that a parcel takes, as a spread (log) around what the supplier says.
_PARCEL_SPREAD = 0.45


def draw(aircraft: Aircraft, rng: np.random.Generator) -> Work:
    """One builder's work on an aircraft."""
    hands = _Hands(rng)
    stages = [
        [_job(aircraft, chunk, hands, rng) for chunk in stage]
        for stage in aircraft.stages
    ]
    away = rng.random(len(stages)) < _AWAY
    days = rng.lognormal(log(_AWAY_DAYS), _AWAY_SPREAD, len(stages))
    return Work(
        stages,
        float(rng.lognormal(log(_A_WEEK), _A_WEEK_SPREAD)) / 7,
        [int(day) if gone else 0 for gone, day in zip(away, days, strict=True)],
    )


def days_taken(seller: Seller, rng: np.random.Generator) -> int:
    """Days from order to bench: around what is said, with a long tail."""
    return max(1, round(seller.days * float(rng.lognormal(0.1, _PARCEL_SPREAD))))


@dataclass
class _Hands:
    """Who works this evening, in what mood, after how many pieces."""

    rng: np.random.Generator

    def __post_init__(self) -> None:
        self.own = float(self.rng.lognormal(0.0, 0.3))
        self.helped = bool(self.rng.random() < _HELPED)
        self.mood, self.done = 0.0, 0

    def share(self, pieces: int) -> float:
        """The spoiled share of the next pieces."""
        self.mood = _LIKE * self.mood + float(self.rng.normal(0.0, _MOOD))
        gone = exp(-self.done / _LEARNING)
        self.done += pieces
        skill = self.own * (_IN_THE_END + (_AT_FIRST - _IN_THE_END) * gone)
        friend = self.helped and self.rng.random() < _FRIENDS_PART
        return min(_MOST, skill * exp(self.mood) * (_POORER if friend else 1.0))


def _job(
    aircraft: Aircraft, chunk: Chunk, hands: _Hands, rng: np.random.Generator
) -> Job:
    mean = chunk.need * hands.share(chunk.need)
    spoiled = int(rng.negative_binomial(_SIZE, _SIZE / (_SIZE + mean)))
    used = chunk.need + spoiled
    half, wrong = rng.random(2) < (_HALF_SCANNED, _WHOLE_JOB)
    beside = aircraft.parts[chunk.part].neighbour is not None
    return Job(
        chunk, spoiled, used // 2 if half else 0, used if wrong and beside else 0
    )
