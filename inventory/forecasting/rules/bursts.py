"""Rework in bursts: half a session lost at once to a tilted tool or a cracked lot.

Bursts over n pieces are Poisson with a gamma rate, so negative binomial; the size of
one is geometric from 1. With r bursts of evidence over c pieces and a mean size of 1/p
the pieces lost have the generating function

    G(z) = ((1-t) (1-uz) / (1-vz))^r,   t = n/(c+n), u = 1-p, v = 1-p(1-t)

and its derivative gives every chance from the two before:

    P(0) = (1-t)^r;   (k+1) P(k+1) = ((u+v) k + r (v-u)) P(k) - uv (k-1) P(k-1)

Source: the compound distribution is standard; the general recursion is Panjer's
(ASTIN Bulletin 12, 1981; from memory). Both, and G inverted, give the same chances.

A burst ends where the assembly does: where that is known to ask at most m pieces, a size
of m or more is m. Then G is inverted by the discrete Fourier transform.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inventory.errors import Refused
from inventory.forecasting.rules.counts import MOST, NONE, TAIL, Count, Floats, cut

# The shortest transform; it is doubled until all that counts fits into its first half.
_LEAST_LENGTH = 512


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

    def sizes(self, most: int) -> Floats:
        """P(a burst is of 0, 1, ... `most` pieces), `most` standing for all beyond."""
        stop = 1 / self.size
        found = np.zeros(most + 1)
        found[1:] = stop * (1 - stop) ** np.arange(most)
        found[most] = (1 - stop) ** (most - 1)
        return found

    def expected(self, need: int, most: int | None = None) -> float:
        """Expected pieces lost to bursts while setting `need`, `most` at once."""
        return need * self.rate * self._moment(1, most)

    def variance(self, need: int, most: int | None = None) -> float:
        """Variance of the pieces lost to bursts while setting `need`."""
        number = need * self.rate
        mean, square = self._moment(1, most), self._moment(2, most)
        spread = number * (1 + need / self.pieces)
        return number * (square - mean**2) + spread * mean**2

    def _moment(self, power: int, most: int | None) -> float:
        if most is not None:
            return float(np.arange(most + 1.0) ** power @ self.sizes(most))
        return self.size if power == 1 else self.size * (2 * self.size - 1)

    def lost_over(self, need: int, most: int | None = None) -> Count:
        """Pieces lost to bursts while setting `need`, as a distribution.

        `most` is what the largest assembly asks: no burst outlasts it.
        """
        if need == 0 or most == 0:
            return NONE
        if most is not None:
            return self._lost_at_most(need, most)
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

    def _lost_at_most(self, need: int, most: int) -> Count:
        t = need / (self.pieces + need)
        of_size, length = self.sizes(most), _LEAST_LENGTH
        while True:
            # What lies past the end would come round to the beginning: so far out that
            # nothing does.
            turned = np.fft.rfft(of_size, length) if most < length else None
            if turned is not None:
                g = ((1 - t) / (1 - t * turned)) ** self.seen
                found = np.maximum(0.0, np.fft.irfft(g, length))
                if found[length // 2 :].sum() < TAIL or length >= MOST:
                    return cut(found)
            length *= 2


GUESS = Bursts()
