"""Is the forecast true? Scores of what was forecast against what then happened.

Sources: the histogram of Czado, Gneiting and Held (Biometrics 65, 2009); the scores of
Gneiting and Raftery (Journal of the American Statistical Association 102, 2007); both
from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import lgamma

import numpy as np

from inventory.errors import Refused
from inventory.forecasting.rules.counts import Count, Floats
from inventory.forecasting.rules.spoilage import TIE


@dataclass(frozen=True)
class Coverage:
    """How often a bound was exceeded, and how often it may be."""

    misses: int
    of: int
    low: int
    high: int

    @property
    def is_true(self) -> bool:
        """Not more misses than chance allows; a bound of a count may miss too rarely."""
        return self.misses <= self.high


def pit(forecast: Count, happened: int, share: float) -> float:
    """Randomised probability integral transform: uniform where the forecast is true.

    `share` between 0 and 1 places it inside the jump at what happened.
    """
    below = forecast.within(happened - 1)
    return below + share * (forecast.within(happened) - below)


def pit_histogram(
    forecasts: Sequence[Count], happened: Sequence[int], bins: int = 10
) -> Floats:
    """The same without chance: each count spreads over its jump. Shares of the bins."""
    if not forecasts:
        raise Refused(
            "forecasting.scores",
            "Expected a forecast or more; got none. Close an assembly first.",
            {"expected": "1 forecast or more", "got": 0},
        )
    edges = np.linspace(0.0, 1.0, bins + 1)
    total = np.zeros(bins + 1)
    for forecast, seen in zip(forecasts, happened, strict=True):
        low, high = forecast.within(seen - 1), forecast.within(seen)
        if high > low:
            total += np.clip((edges - low) / (high - low), 0.0, 1.0)
        else:
            total += edges >= high
    return np.diff(total / len(forecasts))


def pinball(forecast: float, happened: float, share: float) -> float:
    """The quantile's loss: share of what it lacked, or the rest of what it had over."""
    gap = happened - forecast
    return share * gap if gap >= 0 else (share - 1) * gap


def crps(forecast: Count, happened: int) -> float:
    """Continuous ranked probability score of a count, in its own units; 0 is best."""
    size = max(forecast.cdf.size, happened)
    cdf = np.ones(size)
    cdf[: forecast.cdf.size] = forecast.cdf
    return float(((cdf - (np.arange(size) >= happened)) ** 2).sum())


def log_score(forecast: Count, happened: int) -> float:
    """ln of the chance given to what happened; minus infinity where it had none."""
    given = forecast.pmf[happened] if happened < forecast.pmf.size else 0.0
    return float(np.log(given)) if given > 0 else -np.inf


def band(of: int, rate: float = 0.05, inside: float = 0.95) -> tuple[int, int]:
    """Misses that chance allows among so many forecasts: exact binomial quantiles."""
    k = np.arange(of + 1)
    ways = np.array([lgamma(of + 1) - lgamma(j + 1) - lgamma(of - j + 1) for j in k])
    cdf = np.cumsum(np.exp(ways + k * np.log(rate) + (of - k) * np.log1p(-rate)))
    outside = (1 - inside) / 2
    low, high = np.searchsorted(cdf, [outside - TIE, 1 - outside - TIE])
    return int(low), int(high)


def coverage(
    bounds: Sequence[float], happened: Sequence[float], share: float = 0.95
) -> Coverage:
    """Upper bounds of a share, against what happened."""
    pairs = zip(bounds, happened, strict=True)
    misses = sum(seen > bound for bound, seen in pairs)
    return Coverage(misses, len(bounds), *band(len(bounds), 1 - share))
