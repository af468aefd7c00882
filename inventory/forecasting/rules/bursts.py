"""Rework in bursts: half a session lost at once to a tilted tool or a cracked lot.

Bursts over n pieces are Poisson with a gamma rate, so negative binomial; the size of
one is geometric from 1. With r bursts of evidence over c pieces and a mean size of 1/p
the pieces lost have the generating function

    G(z) = ((1-t) (1-uz) / (1-vz))^r,   t = n/(c+n), u = 1-p, v = 1-p(1-t)

and its derivative gives every chance from the two before:

    P(0) = (1-t)^r;   (k+1) P(k+1) = ((u+v) k + r (v-u)) P(k) - uv (k-1) P(k-1)

Source: the compound distribution is standard; the general recursion is Panjer's
(ASTIN Bulletin 12, 1981; from memory). Both, and G inverted, give the same chances.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inventory.errors import Refused
from inventory.forecasting.rules.counts import MOST, NONE, TAIL, Count, cut


@dataclass(frozen=True)
class Bursts:
    """What is believed of bursts: `seen` of them over `pieces` set, `lost` in `sized`.

    The first two are the gamma of their rate, the last two the mean of their size.
    The prior is a guess: one burst in 2,000 pieces, worth one burst of evidence, of
    15 pieces, worth two (common practice, no source).
    """

    seen: float = 1.0
    pieces: float = 2000.0
    sized: float = 2.0
    lost: float = 30.0

    def __post_init__(self) -> None:
        if min(self.seen, self.pieces, self.sized) <= 0 or self.lost < self.sized:
            raise Refused(
                "forecasting.bursts",
                "Expected bursts, pieces and sizes above zero, and at least one piece "
                f"lost to a burst; got {self}. Give the record as counts.",
                {"expected": "positive counts, lost at least sized", "got": str(self)},
            )

    def after(self, pieces: int, sizes: Sequence[int]) -> "Bursts":
        """The belief after so many good pieces more, with bursts of these sizes."""
        return replace(
            self,
            seen=self.seen + len(sizes),
            pieces=self.pieces + pieces,
            sized=self.sized + len(sizes),
            lost=self.lost + sum(sizes),
        )

    @property
    def rate(self) -> float:
        """Expected bursts a piece."""
        return self.seen / self.pieces

    @property
    def size(self) -> float:
        """Expected pieces a burst."""
        return self.lost / self.sized

    def expected(self, need: int) -> float:
        """Expected pieces lost to bursts while setting `need`."""
        return need * self.rate * self.size

    def variance(self, need: int) -> float:
        """Variance of the pieces lost to bursts while setting `need`."""
        number = need * self.rate
        spread = number * (1 + need / self.pieces)
        return number * self.size * (self.size - 1) + spread * self.size**2

    def lost_over(self, need: int) -> Count:
        """Pieces lost to bursts while setting `need`, as a distribution."""
        if need == 0:
            return NONE
        t = need / (self.pieces + need)
        p = 1 / self.size
        u, v, r = 1 - p, 1 - p * (1 - t), self.seen
        before, now = 0.0, (1 - t) ** r
        found, total, k = [now], now, 0
        while total < 1 - TAIL and k < MOST:
            after = ((u + v) * k + r * (v - u)) * now - u * v * (k - 1) * before
            before, now, k = now, after / (k + 1), k + 1
            found.append(now)
            total += now
        return cut(np.array(found))


GUESS = Bursts()
