"""Chances of a count of pieces, bits or fasteners, as an array of chances.

The recursions are standard; see Johnson, Kemp and Kotz, Univariate Discrete
Distributions (from memory). They run in logarithms, so that nothing underflows.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from inventory.forecasting.rules.spoilage import TIE

Floats = NDArray[np.float64]

# A distribution is cut where less than this is left, or at MOST, whichever is first.
TAIL = 1e-9
MOST = 200_000


@dataclass(frozen=True, eq=False)
class Count:
    """`pmf[k]` is P(K = k); what lies beyond its end is below TAIL, or past MOST."""

    pmf: Floats
    cdf: Floats = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "cdf", np.minimum(1.0, np.cumsum(self.pmf)))
        self.pmf.setflags(write=False)
        self.cdf.setflags(write=False)

    @property
    def expected(self) -> float:
        """The mean of what is listed."""
        return float(np.arange(self.pmf.size) @ self.pmf)

    @property
    def sd(self) -> float:
        """The standard deviation of what is listed."""
        gaps = np.arange(self.pmf.size) - self.expected
        return sqrt(float(gaps**2 @ self.pmf))

    def at(self, share: float) -> int:
        """The smallest k with P(K <= k) >= share, exact ties included."""
        return int(np.searchsorted(self.cdf, share - TIE))

    def within(self, k: int) -> float:
        """P(K <= k); beyond the end, what is listed in all."""
        return 0.0 if k < 0 else float(self.cdf[min(k, self.cdf.size - 1)])

    def short_by(self, k: int) -> float:
        """E max(0, K - k): how many are lacking on average when k are here."""
        return float(np.maximum(0, np.arange(self.pmf.size) - k) @ self.pmf)

    def plus(self, other: "Count") -> "Count":
        """The sum with an independent count."""
        if min(self.pmf.size, other.pmf.size) == 1:
            return Count(np.convolve(self.pmf, other.pmf))
        return cut(np.convolve(self.pmf, other.pmf)[:MOST])


NONE = Count(np.ones(1))


def cut(pmf: Floats) -> Count:
    """The shortest beginning that leaves less than TAIL."""
    enough = int(np.searchsorted(np.cumsum(pmf), 1 - TAIL))
    return Count(pmf[: enough + 1].copy())


def gamma_ratio(x: Floats | float, d: Floats | float) -> Floats:
    """ln Gamma(x + d) - ln Gamma(x) for x > 0, d >= 0, good to about 1e-14 of ln's.

    Two log-gammas of millions would lose eight digits in their difference; Stirling's
    series of the difference does not. It wants x >= 16, so smaller x are moved up, by
    two factors at once: (x + i)(x + 15 - i) = x(x + 15) + i(15 - i).
    """
    x, d = np.asarray(x, dtype=float), np.asarray(d, dtype=float)
    if not d.any():
        return np.zeros(np.broadcast(x, d).shape)
    moved: Floats | float = 1.0
    y, z = x, x + d
    if x.min() < 16:
        below, above = y * (y + 15), z * (z + 15)
        for i in range(8):
            moved = moved * ((below + i * (15 - i)) / (above + i * (15 - i)))
        y, z = y + 16, z + 16
    series = (y - 0.5) * np.log1p(d / y) + d * np.log(z) - d
    return np.asarray(series + _stirling(z) - _stirling(y) + np.log(moved))


def _stirling(x: Floats) -> Floats:
    inverse = 1 / x
    square = inverse * inverse
    terms = 1 / 12 - square * (1 / 360 - square * (1 / 1260 - square / 1680))
    return inverse * terms


def log_none(
    needs: Floats | float, goods: Floats | float, bads: Floats | float
) -> Floats:
    """ln P(no piece spoiled) of the beta-negative-binomial."""
    return np.asarray(gamma_ratio(goods, bads) - gamma_ratio(goods + needs, bads))


def log_step(
    k: Floats | int, needs: Floats | float, goods: Floats | float, bads: Floats | float
) -> Floats:
    """ln P(K = k + 1) / P(K = k) of the beta-negative-binomial."""
    above = (needs + k) * (bads + k)
    return np.asarray(np.log(above / ((k + 1.0) * (goods + bads + needs + k))))


def beta_negative_binomial(need: int, good: float, bad: float) -> Count:
    """Bad pieces until `need` good ones, the chance of a good one being a beta."""
    if need == 0:
        return NONE
    first = float(log_none(need, good, bad))
    return _grown(first, lambda k: log_step(k, need, good, bad))


def beta_binomial(tries: int, yes: float, no: float) -> Count:
    """How many of `tries` happen, the chance of one being a beta of (yes, no)."""
    if tries == 0:
        return NONE
    first = gamma_ratio(no, tries) - gamma_ratio(yes + no, tries)
    return _grown(
        float(first),
        lambda k: np.log((tries - k) * (yes + k) / ((k + 1) * (no + tries - k - 1))),
        tries + 1,
    )


def negative_binomial(pieces: float, events: float, over: float) -> Count:
    """Events in `pieces`, their rate being a gamma of shape `events` per `over`.

    A Poisson number with a gamma rate is negative binomial.
    """
    if pieces == 0:
        return NONE
    share = pieces / (over + pieces)
    first = events * np.log1p(-share)
    return _grown(float(first), lambda k: np.log(share * (events + k) / (k + 1)))


def _grown(
    first: float, log_steps: Callable[[Floats], Floats], most: int = MOST
) -> Count:
    """Terms from ln P(K = 0) on, twice as many each time until little is left."""
    most, size = min(most, MOST), 64
    while True:
        size = min(size, most)
        steps = log_steps(np.arange(size - 1, dtype=float))
        pmf = np.exp(np.cumsum(np.concatenate(([first], steps))))
        if size == most or pmf.sum() > 1 - TAIL:
            return cut(pmf)
        size *= 2
