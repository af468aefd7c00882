"""Expected use of one item as a distribution: ordinary spoilage, and bursts on top.

Ordinary spoilage is the exact beta-negative-binomial (see spoilage.py). Given the
chances, what is spoiled in several stages adds, so the use through a stage is that of
the cumulative need: never a sum of the stages' own quantiles.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import inf, sqrt

import numpy as np
from numpy.typing import NDArray

from inventory.errors import Refused
from inventory.forecasting.rules.bursts import GUESS, Bursts
from inventory.forecasting.rules.counts import (
    MOST,
    Count,
    Floats,
    beta_negative_binomial,
    log_none,
    log_step,
)
from inventory.forecasting.rules.spoilage import PRIOR_BAD, PRIOR_GOOD, TIE

# Distributions kept ready; one is a few kilobytes unless the record is very poor.
KEPT = 4096


@dataclass(frozen=True)
class Belief:
    """What is believed of an item's spoilage; without `bursts`, the ordinary only.

    `good` and `bad` count pieces of ordinary work, the prior's included.
    """

    good: float = PRIOR_GOOD
    bad: float = PRIOR_BAD
    bursts: Bursts | None = GUESS

    def __post_init__(self) -> None:
        if not (0 < self.good < inf and 0 < self.bad < inf):
            raise Refused(
                "forecasting.belief",
                "Expected good and spoiled pieces above zero; "
                f"got {self.good} and {self.bad}. Add the record to the prior.",
                {"expected": "numbers above 0", "got": f"{self.good}, {self.bad}"},
            )


@dataclass(frozen=True)
class Use:
    """Pieces spoiled beyond `need` good ones, under a belief.

    `at_once` is what the largest assembly asks, None where that is not known: no burst
    of rework outlasts it. Listed until less than a thousand-millionth is left, at most 200,000 pieces.
    """

    need: int
    belief: Belief
    at_once: int | None = None

    def __post_init__(self) -> None:
        if self.need < 0:
            raise Refused(
                "forecasting.need",
                f"Expected a need of 0 pieces or more; got {self.need}.",
                {"expected": "0 or more", "got": self.need},
            )

    @property
    def chances(self) -> Count:
        """P(K = 0), P(K = 1), ..."""
        return _chances(self.need, self.belief, self.at_once)

    @property
    def expected(self) -> float:
        """E K, pieces: N b / (a - 1) and the bursts'; infinite for a <= 1."""
        a, b, bursts = self.belief.good, self.belief.bad, self.belief.bursts
        if self.need == 0:
            return 0.0
        base = self.need * b / (a - 1) if a > 1 else inf
        return base + (bursts.expected(self.need, self.at_once) if bursts else 0.0)

    @property
    def sd(self) -> float:
        """Standard deviation, pieces; infinite for a <= 2."""
        n, a, b = self.need, self.belief.good, self.belief.bad
        if n == 0:
            return 0.0
        if a <= 2:
            return inf
        base = n * b * (n + a - 1) * (a + b - 1) / ((a - 2) * (a - 1) ** 2)
        bursts = self.belief.bursts
        return sqrt(base + (bursts.variance(n, self.at_once) if bursts else 0.0))

    def at(self, share: float) -> int:
        """The smallest k with P(K <= k) >= share: pieces to have beyond the need."""
        return self.chances.at(share)

    def within(self, k: int) -> float:
        """P(K <= k): the chance that k pieces beyond the need do."""
        return self.chances.within(k)


@lru_cache(maxsize=KEPT)
def _chances(need: int, belief: Belief, at_once: int | None) -> Count:
    base = beta_negative_binomial(need, belief.good, belief.bad)
    if belief.bursts is None:
        return base
    return base.plus(belief.bursts.lost_over(need, at_once))


def quantiles(
    needs: NDArray[np.int64], goods: Floats, bads: Floats, share: float
) -> NDArray[np.int64]:
    """Ordinary spoilage of many cells at once: the smallest k with P(K <= k) >= share.

    Exact: the recursion of one cell, run over all that are not done; at most 200,000.
    """
    found = np.zeros(needs.shape, dtype=np.int64)
    at = np.flatnonzero(needs > 0)
    cells = _Cells.of(needs[at], goods[at], bads[at])
    while at.size:
        open_ = cells.total < share - TIE if cells.k < MOST else np.zeros(at.size, bool)
        if not open_.all():
            found[at[~open_]] = cells.k
            at, cells = at[open_], cells.only(open_)
        cells = cells.next()
    return found


def chance_short(
    needs: NDArray[np.int64], spares: NDArray[np.int64], goods: Floats, bads: Floats
) -> Floats:
    """P(K > spare) of many cells at once, ordinary spoilage only; exact.

    1 where the spare is below zero, 0 where nothing is needed.
    """
    found = np.where(spares < 0, 1.0, 0.0)
    at = np.flatnonzero((needs > 0) & (spares >= 0))
    cells, left = _Cells.of(needs[at], goods[at], bads[at]), spares[at]
    while at.size:
        open_ = left > cells.k
        if not open_.all():
            found[at[~open_]] = 1 - np.minimum(1.0, cells.total[~open_])
            at, left, cells = at[open_], left[open_], cells.only(open_)
        cells = cells.next()
    return found


@dataclass(frozen=True, eq=False)
class _Cells:
    """Cells that stand at the same k: ln P(K = k) and P(K <= k) of each."""

    needs: Floats
    goods: Floats
    bads: Floats
    level: Floats
    total: Floats
    k: int

    @classmethod
    def of(cls, needs: NDArray[np.int64], goods: Floats, bads: Floats) -> "_Cells":
        wanted = needs.astype(float)
        level = log_none(wanted, goods, bads)
        return cls(wanted, goods, bads, level, np.exp(level), 0)

    def only(self, kept: NDArray[np.bool_]) -> "_Cells":
        rows = (self.needs, self.goods, self.bads, self.level, self.total)
        needs, goods, bads, level, total = (row[kept] for row in rows)
        return _Cells(needs, goods, bads, level, total, self.k)

    def next(self) -> "_Cells":
        level = self.level + log_step(self.k, self.needs, self.goods, self.bads)
        total = self.total + np.exp(level)
        return _Cells(self.needs, self.goods, self.bads, level, total, self.k + 1)
