"""Partial pooling: each class of fastener borrows from the others what it lacks.

Class j spoiled y_j of n_j tries; its chance is a beta (alpha, beta) that all classes
share, on a grid of ln alpha/beta and ln (alpha + beta). A class with no record gets
the population's.

Before any record, the stated guess Beta(good, bad) holds: half of its doubt is of the
mean of all classes, half of how far classes differ. Few classes say little of either,
and without a guess p(alpha, beta) proportional to (alpha + beta)^(-5/2) lets a handful
of good classes believe in one that spoils a third.

Source: the hierarchical beta-binomial of Gelman et al., Bayesian Data Analysis, 3rd
edition, 5.3 (from memory).
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import log
from typing import TypeVar

import numpy as np

from inventory.errors import Refused
from inventory.forecasting.rules.counts import Floats, gamma_ratio
from inventory.forecasting.rules.spoilage import Beta

COARSE, FINE = (41, 41), (81, 101)
# Where a cell's weight is below this share of the heaviest, the grid need not go.
FAINT = 1e-7
# Standard deviation of ln (alpha + beta) under a guess: a factor of e either way.
SPREAD = 1.0
# A person's own hand shows only after some hundreds of tries: common practice.
ENOUGH_TRIES = 300
Key = TypeVar("Key")


@dataclass(frozen=True)
class Pooled:
    """What is believed of the population of classes, and of each class."""

    population: Beta
    classes: Mapping[str, Beta]

    def of(self, name: str) -> Beta:
        """A class's belief; one without a record has the population's."""
        return self.classes.get(name, self.population)


@dataclass(frozen=True, eq=False)
class Grid:
    """Weights over (alpha, beta), alpha being the spoiled pieces'."""

    alpha: Floats
    beta: Floats
    weight: Floats


def pooled(classes: Mapping[str, Beta], guess: Beta | None = None) -> Pooled:
    """Beliefs of every class from the records (good and bad pieces) of all.

    Without a guess the records need a good and a bad piece. Refused: forecasting.pool.
    """
    records = list(classes.values())
    if not guess and not any(row.good > 0 and row.bad > 0 for row in records):
        raise Refused(
            "forecasting.pool",
            "Expected a class with good and spoiled pieces, or a guess; got none. "
            "Give the stated guess.",
            {"expected": "a class with good and spoiled pieces", "got": "none"},
        )
    grid = grid_of(records, guess)
    nothing = Beta(0.0, 0.0)
    return Pooled(
        posterior(grid, nothing),
        {name: posterior(grid, row) for name, row in classes.items()},
    )


def by_person(people: Mapping[Key, Beta], population: Beta) -> Mapping[Key, Beta]:
    """One level further down: the people inside a class, by their own records in it.

    `population` is what was believed before their records: the population of classes.
    Empty unless two or more have enough tries; only those who have are named.
    """
    known = {
        name: row for name, row in people.items() if row.good + row.bad >= ENOUGH_TRIES
    }
    if len(known) < 2:
        return {}
    grid = grid_of(list(known.values()), population)
    return {name: posterior(grid, row) for name, row in known.items()}


def grid_of(records: Sequence[Beta], guess: Beta | None = None) -> Grid:
    """The posterior of (alpha, beta): a wide coarse grid finds where the fine one goes."""
    every = [*records, *([guess] if guess else [])]
    good, bad = sum(row.good for row in every), sum(row.bad for row in every)
    middle = log(bad / good)
    level = _guessed(guess) if guess else _vague
    box = (middle - 6.0, middle + 6.0, -3.0, 14.0)
    return _grid(records, level, _shrunk(records, level, box), FINE)


Box = tuple[float, float, float, float]
Level = Callable[[Floats, Floats], Floats]


def _vague(alpha: Floats, beta: Floats) -> Floats:
    """ln of (alpha + beta)^(-5/2), and alpha beta for the change of variables."""
    return np.asarray(np.log(alpha * beta) - 2.5 * np.log(alpha + beta))


def _guessed(guess: Beta) -> Level:
    """The mean a beta of twice the guess's pieces; ln (alpha + beta) normal so that
    classes differ by as much again."""
    strength = log(2 * (guess.good + guess.bad)) + SPREAD**2 / 2

    def level(alpha: Floats, beta: Floats) -> Floats:
        total = np.log(alpha + beta)
        mean = 2 * guess.bad * (np.log(alpha) - total)
        mean += 2 * guess.good * (np.log(beta) - total)
        return np.asarray(mean - ((total - strength) / SPREAD) ** 2 / 2)

    return level


def _shrunk(records: Sequence[Beta], level: Level, box: Box) -> Box:
    """The part of the box that carries weight, a coarse cell wider on each side."""
    weight = _grid(records, level, box, COARSE).weight
    heavy = weight > FAINT * weight.max()
    found: list[float] = []
    for axis, (low, high) in enumerate((box[:2], box[2:])):
        lines = np.linspace(low, high, COARSE[axis])
        kept = np.flatnonzero(heavy.any(axis=1 - axis))
        first, last = max(0, kept[0] - 1), min(lines.size - 1, kept[-1] + 1)
        found += [float(lines[first]), float(lines[last])]
    return found[0], found[1], found[2], found[3]


def _grid(
    records: Sequence[Beta], level: Level, box: Box, size: tuple[int, int]
) -> Grid:
    odds = np.linspace(box[0], box[1], size[0])[:, None]
    total = np.exp(np.linspace(box[2], box[3], size[1]))[None, :]
    share = 1 / (1 + np.exp(-odds))
    alpha, beta = share * total, (1 - share) * total
    found = level(alpha, beta)
    for row, times in Counter(records).items():
        found = found + times * (
            gamma_ratio(alpha, row.bad)
            + gamma_ratio(beta, row.good)
            - gamma_ratio(total, row.good + row.bad)
        )
    weight = np.exp(found - found.max())
    return Grid(alpha, beta, weight / weight.sum())


def posterior(grid: Grid, row: Beta) -> Beta:
    """One class's belief: the beta with the mean and variance of the grid's mixture."""
    total = grid.alpha + grid.beta + row.good + row.bad
    means = (grid.alpha + row.bad) / total
    mean = float((grid.weight * means).sum())
    inner = means * (1 - means) / (total + 1)
    variance = float((grid.weight * (inner + (means - mean) ** 2)).sum())
    strength = mean * (1 - mean) / variance - 1
    return Beta((1 - mean) * strength, mean * strength)
