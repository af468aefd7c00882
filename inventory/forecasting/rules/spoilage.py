"""Need plus spoilage as a distribution: the beta-negative-binomial.

One attempt is one fastener set. Its chance p of being good has a beta distribution;
to finish N good ones takes N + K pieces, and K is beta-negative-binomial:

    P(K=0)   = B(a+N, b) / B(a, b)
    P(K=k+1) = P(K=k) (N+k)(b+k) / ((k+1)(a+b+N+k))

Given p the spoiled pieces of several stages add, so the spoiled pieces through stage s
are the same distribution of the cumulative need: no convolution is needed.

Source: the recursion and the moments are standard; see Johnson, Kemp and Kotz,
Univariate Discrete Distributions (from memory). Checked against scipy's betanbinom.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import exp, lgamma, log

# A guess until the shop's own record speaks: 1.5 in 100 spoiled (common practice,
# no source), worth a hundred fasteners of record.
PRIOR_GOOD, PRIOR_BAD = 98.5, 1.5
# The share of the distribution that rounding may hide when a quantile is an exact tie.
TIE = 1e-12


@dataclass(frozen=True)
class Beta:
    """What is believed of the chance that a fastener is set well.

    `good` and `bad` count pieces, the prior's included.
    """

    good: float = PRIOR_GOOD
    bad: float = PRIOR_BAD

    def seen(self, good: int, bad: int) -> "Beta":
        """The belief after a record of good and spoiled pieces."""
        return Beta(self.good + good, self.bad + bad)

    @property
    def rate(self) -> float:
        """Expected spoiled share of attempts."""
        return self.bad / (self.good + self.bad)


def expected_spoiled(need: int, belief: Beta) -> float:
    """E K = N b / (a - 1), pieces, for a > 1."""
    return need * belief.bad / (belief.good - 1)


def _terms(need: int, belief: Beta) -> Iterator[float]:
    """P(K=0), P(K=1), ... without end."""
    a, b = belief.good, belief.bad
    # In logarithms: with many needed and a poor record the first terms underflow.
    level = lgamma(a + need) + lgamma(a + b) - lgamma(a) - lgamma(a + b + need)
    k = 0
    while True:
        yield exp(level)
        level += log((need + k) * (b + k) / ((k + 1) * (a + b + need + k)))
        k += 1


def chance_enough(need: int, spare: int, belief: Beta) -> float:
    """P(K <= spare): the chance that `need + spare` pieces do for `need` good ones."""
    if spare < 0:
        return 0.0
    if need == 0:
        return 1.0
    terms = _terms(need, belief)
    return min(1.0, sum(next(terms) for _ in range(spare + 1)))


def spoiled_at(share: float, need: int, belief: Beta, *, most: int = 200_000) -> int:
    """The smallest k with P(K <= k) >= share: pieces to have beyond the need."""
    if need == 0:
        return 0
    total, terms = 0.0, _terms(need, belief)
    for k in range(most):
        total += next(terms)
        if total >= share - TIE:
            return k
    return most
