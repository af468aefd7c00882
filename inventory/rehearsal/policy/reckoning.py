"""How many pieces to buy: the price against what running out is reckoned at."""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.forecasting.rules.stock import Deficit
from inventory.rehearsal.seen.plan import Part
from inventory.rehearsal.seen.prices import SUPPLIERS, Cover, Seller, cheapest

# The chances to run out that are weighed against what they cost.
SHARES = (0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001)


@dataclass(frozen=True)
class Risk:
    """What work asks beyond what is here, and the money that running out would cost."""

    short: Deficit
    money: float

    def cost(self, pieces: int = 0) -> float:
        """The expected cost when so many more are bought."""
        return self.money * self.short.over(pieces)


Sellers = Sequence[Seller]


@dataclass(frozen=True)
class Wish:
    """What is wished of a part: its risks to weigh, and the least that must come."""

    risks: Sequence[Risk]
    least: int = 0


def cover(part: Part, pieces: int, sellers: Sellers = SUPPLIERS) -> Cover:
    """The cheapest bags of these suppliers; shipping is shared and left out."""
    if not pieces:
        return Cover(0.0, ())
    covers = [cheapest(each, part, pieces) for each in sellers]
    return min(covers, key=lambda found: found.price)


def cost(part: Part, wish: Wish, pieces: int, sellers: Sellers = SUPPLIERS) -> float:
    """Price and expected cost of running out, with what the bags hold beyond."""
    bags = cover(part, pieces, sellers)
    held = sum(bags.bags)
    return bags.price + sum(each.cost(held) for each in wish.risks)


def worthwhile(part: Part, wish: Wish, sellers: Sellers = SUPPLIERS) -> int:
    """The pieces, not under the least, that cost least in all; the fewest of equals."""
    tried = {wish.least}
    for each in wish.risks:
        tried |= {max(wish.least, each.short.to_buy(share)) for share in SHARES}
    return min(sorted(tried), key=lambda pieces: cost(part, wish, pieces, sellers))
