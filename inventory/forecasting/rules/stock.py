"""Stock as a distribution, not a number: the count's doubt, and parcels on the way.

What is asked through a stage less what is here is the deficit; it is a distribution
too, and everything said of running short is read from it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from math import exp, expm1
from statistics import NormalDist

import numpy as np

from inventory.forecasting.rules.counts import Floats
from inventory.forecasting.rules.spoilage import TIE
from inventory.forecasting.rules.use import KEPT, Use
from inventory.ledger.rules import ABOUT_SHARE, JOB
from inventory.ordering.rules.leads import GUESSED, Late

# A guessed day may be off by so much either way with a chance of 19 in 20; the normal
# distribution of it is taken at so many equally likely days.
_TWO_SIDED, _LIKELY_DAYS = 1.96, 21
# A doubt under this, in pieces, cannot put a count one piece off.
_SURE, _REACH = 0.2, 5.0
# A look is reckoned over so many sights of so many numbers.
_SIGHTS, _TOLD_APART = 60, 400


@dataclass(frozen=True)
class Arrival:
    """Pieces on the way, and the chance that they are here in time."""

    pieces: int
    chance: float


def chance_here(
    expected: date, by: date, late: Late = GUESSED, give_or_take: int = 0
) -> float:
    """The chance that a parcel expected one day is here by another.

    None comes early; a late one is late by an exponential number of days. The other
    day may itself be a guess, off by `give_or_take` days either way.
    """
    slack = (by - expected).days
    if not give_or_take:
        return _here_after(slack, late)
    spread = NormalDist(slack, give_or_take / _TWO_SIDED)
    days = [spread.inv_cdf((at + 0.5) / _LIKELY_DAYS) for at in range(_LIKELY_DAYS)]
    return sum(_here_after(day, late) for day in days) / _LIKELY_DAYS


def _here_after(slack: float, late: Late) -> float:
    return 0.0 if slack < 0 else 1 - late.share * exp(-slack / late.days)


@dataclass(frozen=True)
class Stock:
    """What is here: the record's balance, its standard deviation, what is on the way.

    `jobs_gone`: how many jobs of a look-alike came out of it unknown to the record, on
    average. All in units. A balance cannot be under nought, however doubtful it is.
    """

    on_hand: int
    doubt: float = 0.0
    arrivals: tuple[Arrival, ...] = ()
    jobs_gone: float = 0.0

    def chances(self) -> tuple[int, Floats]:
        """The least it can be, and P(stock = least), P(stock = least + 1), ..."""
        low, pmf = _counted(self.on_hand, self.doubt)
        if self.jobs_gone:
            low, pmf = _less_jobs(low, pmf, self.jobs_gone)
        for each in self.arrivals:
            there = np.zeros(pmf.size + each.pieces)
            there[: pmf.size] += (1 - each.chance) * pmf
            there[each.pieces :] += each.chance * pmf
            pmf = there
        return low, pmf


def _counted(on_hand: int, doubt: float) -> tuple[int, Floats]:
    """A normal distribution at whole numbers."""
    if doubt < _SURE:
        return on_hand, np.ones(1)
    reach = int(_REACH * doubt) + 1
    at = np.arange(-reach, reach + 1)
    pmf = np.exp(-0.5 * (at / doubt) ** 2)
    pmf /= pmf.sum()
    return _not_below_nought(on_hand - reach, pmf)


def _less_jobs(low: int, pmf: Floats, jobs: float) -> tuple[int, Floats]:
    """What is left where a Poisson number of jobs may be gone. Two are rarer still, so
    any number is taken for one, of any size up to twice the usual."""
    gone, most = -expm1(-jobs), 2 * JOB
    lost = np.full(most + 1, gone / most)
    lost[0] = 1 - gone
    return _not_below_nought(low - most, np.convolve(pmf, lost[::-1]))


def _not_below_nought(low: int, pmf: Floats) -> tuple[int, Floats]:
    """What would be under nought is nought."""
    if low < 0:
        pmf = np.concatenate(([pmf[: 1 - low].sum()], pmf[1 - low :]))
    return max(0, low), pmf


@dataclass(frozen=True, eq=False)
class Deficit:
    """What a stage asks beyond what is here: P(D = least + i) is pmf[i], in pieces."""

    least: int
    pmf: Floats
    cdf: Floats

    @property
    def chance_short(self) -> float:
        """P(D > 0): the chance to run out."""
        return self.over(0)

    def over(self, pieces: int) -> float:
        """P(D > pieces): the chance to run out although so many more are bought."""
        at = pieces - self.least
        if at < 0:
            return 1.0
        return max(0.0, 1.0 - float(self.cdf[min(at, self.cdf.size - 1)]))

    def to_buy(self, share: float) -> int:
        """The fewest pieces that bring the chance to run out down to a share."""
        at = int(np.searchsorted(self.cdf, 1 - share - TIE))
        return max(0, min(at, self.cdf.size - 1) + self.least)

    @property
    def expected_short(self) -> float:
        """E max(0, D): the pieces lacking on average."""
        here = self.least + np.arange(self.pmf.size)
        return float(np.maximum(0, here) @ self.pmf)


@lru_cache(maxsize=KEPT)
def deficit(use: Use, stock: Stock) -> Deficit:
    """Need and spoilage less stock, independent of each other."""
    low, here = stock.chances()
    pmf = np.convolve(use.chances.pmf, here[::-1])
    least = use.need - (low + here.size - 1)
    return Deficit(least, pmf, np.minimum(1.0, np.cumsum(pmf)))


def worth_of_counting(use: Use, stock: Stock, share: float) -> float:
    """How much a recount lowers the chance of a wrong decision, 0 to `share`.

    To buy costs one parcel, to stop costs 1/share parcels: that is what makes it right
    to buy when the chance to run out is above the share. A recount that would leave
    every decision as it is has no worth. (The expected value of perfect information;
    standard decision analysis, from memory.)
    """
    here, _pieces, short = _short_by_stock(use, stock)
    blind = min(float(here @ short), share)
    knowing = float(here @ np.minimum(short, share))
    return max(0.0, blind - knowing)


def _short_by_stock(use: Use, stock: Stock) -> tuple[Floats, Floats, Floats]:
    """The chance of each stock, how many that are, and the chance to run out with it."""
    low, here = stock.chances()
    pieces = low + np.arange(here.size, dtype=float)
    cdf, spares = use.chances.cdf, low - use.need + np.arange(here.size)
    done = cdf[np.clip(spares, 0, cdf.size - 1)]
    return here, pieces, np.where(spares < 0, 1.0, 1.0 - done)


def worth_of_looking(use: Use, stock: Stock, share: float) -> float:
    """The same of a look, which tells what is there only about: less than a count's worth.

    What is seen is normal about what is there, off by a share of it; the expected value of
    sample information (standard decision analysis, from memory), over so many sights.
    """
    here, pieces, short = _short_by_stock(use, stock)
    # Many numbers that are likely are told apart by no look: a few stand for them.
    ends = np.arange(0, here.size, 1 + here.size // _TOLD_APART)
    held = np.add.reduceat(here, ends)
    lacking = np.add.reduceat(here * short, ends)
    some = held > 0
    there = np.add.reduceat(here * pieces, ends)[some] / held[some]
    off = np.maximum(1.0, ABOUT_SHARE * there)
    sights = np.linspace(there[0] - 2 * off[0], there[-1] + 2 * off[-1], _SIGHTS)
    likely = np.exp(-0.5 * ((sights[:, None] - there) / off) ** 2) / off
    likely /= likely.sum(axis=0)
    seen, seen_short = likely @ held[some], likely @ lacking[some]
    knowing = float(np.minimum(seen_short, seen * share).sum())
    return max(0.0, min(float(here @ short), share) - knowing)


def shortest_list(worths: Sequence[float], enough: float = 0.9) -> int:
    """How many of the greatest worths make up so much of their sum."""
    total = sum(worths)
    if total <= 0:
        return 0
    running = 0.0
    for at, worth in enumerate(sorted(worths, reverse=True), start=1):
        running += worth
        if running >= enough * total:
            return at
    return len(worths)
