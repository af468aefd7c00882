"""The aircraft that simulated builders build: the demo's, or one drawn at random."""

from collections.abc import Iterable
from fractions import Fraction

import numpy as np

from inventory.planning.rules.compare import FlatPlan
from inventory.rehearsal.seen.plan import Aircraft, Chunk, Part
from inventory.trade import callouts, mass
from inventory.trade.rivets import designation

# Whole aircraft of 11,000 to 23,000 rivets in 25 to 45 spec-lengths, most of them in 6
# to 8: public reports of builders (common practice), and a figure from memory.
RANDOM_RIVETS = 20_000
_USUAL, _USUAL_SHARE = 7, 0.85
_GRAMS_UNKNOWN = 2.0
# Lengths that are in use, in halves of a sixteenth, by diameter: a guess.
_HALVES = {3: range(5, 14), 4: range(6, 20), 5: range(10, 18)}


def of_plan(name: str, plan: FlatPlan) -> Aircraft:
    """The aircraft of a plan file; callouts that mean one part are taken together."""
    keys: dict[str, int] = {}
    read: list[callouts.Reading | None] = []
    stages: dict[str, list[Chunk]] = {stage: [] for stage in plan.starts}
    for (stage, assembly, callout, _list), each in plan.needs.items():
        reading = _read(callout)
        key = reading.key if reading else callout
        at = keys.setdefault(key, len(keys))
        if at == len(read):
            read.append(reading)
        times = plan.how_many[stage, assembly]
        stages[stage].append(Chunk(at, each * times))
    parts = [_part(key, reading, keys) for key, reading in zip(keys, read, strict=True)]
    return Aircraft(name, parts, [chunks for chunks in stages.values() if chunks])


def _read(callout: str) -> callouts.Reading | None:
    found = callouts.readings(callout).found
    return found[0] if len(found) == 1 else None


def _part(key: str, reading: callouts.Reading | None, keys: dict[str, int]) -> Part:
    if reading is None:
        return Part(key, key, _GRAMS_UNKNOWN)
    weighed = mass.piece_mass_mg(reading)
    beside = [keys[near] for near in callouts.next_sizes(reading) if near in keys]
    return Part(
        reading.callout,
        callouts.rivet_class(reading),
        weighed / 1000 if weighed else _GRAMS_UNKNOWN,
        beside[0] if beside else None,
    )


def at_random(rng: np.random.Generator, rivets: int = RANDOM_RIVETS) -> Aircraft:
    """An aircraft of so many rivets: 25 to 45 spec-lengths over 10 to 16 stages."""
    names = _spec_lengths(rng, int(rng.integers(25, 46)))
    shares = _shares(rng, len(names))
    stages = int(rng.integers(10, 17))
    chunks: list[list[Chunk]] = [[] for _ in range(stages)]
    for at, share in enumerate(shares):
        total = max(4, round(share * rivets))
        spread = min(stages, 1 + int(rng.integers(0, stages)), 1 + total // 8)
        where = rng.choice(stages, size=spread, replace=False)
        pieces = rng.multinomial(total, rng.dirichlet(np.ones(spread)))
        for stage, need in zip(where, pieces, strict=True):
            chunks[stage] += _assemblies(rng, at, int(need))
    for stage_chunks in chunks:
        rng.shuffle(stage_chunks)
    return Aircraft("random", _parts(names), [each for each in chunks if each])


def _spec_lengths(rng: np.random.Generator, count: int) -> list[str]:
    every = [
        standard + designation("AD", diameter, Fraction(half, 2))
        for standard in ("MS20426", "MS20470")
        for diameter, halves in _HALVES.items()
        for half in halves
    ]
    return [str(name) for name in rng.choice(every, size=count, replace=False)]


def _shares(rng: np.random.Generator, count: int) -> np.ndarray:
    usual = rng.dirichlet(np.full(_USUAL, 4.0)) * _USUAL_SHARE
    rest = rng.dirichlet(np.ones(count - _USUAL)) * (1 - _USUAL_SHARE)
    return np.concatenate([usual, rest])


def _assemblies(rng: np.random.Generator, part: int, need: int) -> list[Chunk]:
    """A stage's need of one part, cut into the assemblies it is driven in."""
    found = []
    while need > 0:
        take = min(need, int(rng.integers(20, 200)))
        found.append(Chunk(part, take))
        need -= take
    return found


def _parts(names: Iterable[str]) -> list[Part]:
    read = [callouts.parse(name) for name in names]
    keys = {reading.key: at for at, reading in enumerate(read)}
    return [_part(reading.key, reading, keys) for reading in read]
