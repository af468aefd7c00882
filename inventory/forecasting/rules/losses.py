"""Temporary fasteners lost in use: what the pool will be, and how many to buy.

Each use loses a fastener with a chance that is a beta of (lost, kept); the losses over
so many uses are beta-binomial. A use is one fastener clamped once.
"""

from dataclasses import dataclass
from math import exp, inf

from inventory.errors import Refused
from inventory.forecasting.rules.counts import Count, beta_binomial, gamma_ratio


@dataclass(frozen=True)
class Losing:
    """What is believed of losses: uses that lost one, and uses that did not.

    The prior is a guess: one lost in a thousand uses, worth a thousand uses (from
    memory, no source).
    """

    lost: float = 1.0
    kept: float = 999.0

    def __post_init__(self) -> None:
        if not (0 < self.lost < inf and 0 < self.kept < inf):
            raise _refused("lost and kept uses above 0", self)

    def after(self, lost: int, kept: int) -> "Losing":
        """The belief after a record of uses."""
        return Losing(self.lost + lost, self.kept + kept)

    def over(self, uses: int) -> Count:
        """Fasteners lost over so many uses, as a distribution."""
        if uses < 0:
            raise _refused("0 uses or more", uses)
        return beta_binomial(uses, self.lost, self.kept)


def expected_pool(pool: int, uses_each: int, losing: Losing) -> float:
    """Fasteners expected to be left when each was used so often: P E (1 - chance)^U."""
    stays = gamma_ratio(losing.kept, uses_each) - gamma_ratio(
        losing.kept + losing.lost, uses_each
    )
    return pool * exp(float(stays))


def to_buy(pool: int, held: int, losses: Count, share: float = 0.95) -> int:
    """Fasteners to buy so that P(enough on the day when most are held) >= share.

    `held` is the most held at once, `losses` those until that day.
    """
    return max(0, held + losses.at(share) - pool)


def chance_enough(pool: int, held: int, losses: Count) -> float:
    """P(what is left of the pool is at least what is held)."""
    return losses.within(pool - held)


def every_nth(pool: int, holes: int) -> int | None:
    """The densest spacing the pool allows: every hole, every 2nd, every 3rd ...

    None where there is no fastener at all. Refused: forecasting.losses.
    """
    if holes < 1 or pool < 0:
        raise _refused("1 hole or more and a pool of 0 or more", (holes, pool))
    return -(-holes // pool) if pool else None


def _refused(expected: str, got: object) -> Refused:
    return Refused(
        "forecasting.losses",
        f"Expected {expected}; got {got}. Count them.",
        {"expected": expected, "got": str(got)},
    )
