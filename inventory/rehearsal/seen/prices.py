"""What suppliers ask: packs by weight or count, and shipping.

Prices are invented, in a currency of no country; only their proportions matter: goods
by the pound, a shipping charge that beats the goods of a small parcel.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from inventory.rehearsal.seen.plan import Part

GRAMS_PER_POUND = 453.59237
# Packs of 1/8, 1/4, 1/2 and 1 lb (from memory); the larger the cheaper by weight.
_POUNDS = ((0.125, 1.25), (0.25, 1.12), (0.5, 1.05), (1.0, 1.0))
_PRICE_PER_POUND = 32.0
_COUNTED_BAG = 50
_COUNTED_MARKUP = 1.9


@dataclass(frozen=True)
class Pack:
    """A bag of one part: the pieces it should hold and its price."""

    pieces: int
    price: float


@dataclass(frozen=True)
class Seller:
    """Ships at a charge, free from so much of goods, and says in how many days."""

    name: str
    shipping: float
    free_from: float
    days: int
    by_weight: bool


# About 5 days (common practice); a missed item costs a week.
SUPPLIERS = (
    Seller("by the pound", 12.95, 300.0, 5, True),
    Seller("by the bag", 8.50, 150.0, 4, False),
)


def packs(supplier: Seller, part: Part) -> tuple[Pack, ...]:
    """What a supplier sells of a part."""
    each = part.grams / GRAMS_PER_POUND * _PRICE_PER_POUND
    if not supplier.by_weight:
        return (Pack(_COUNTED_BAG, round(_COUNTED_BAG * each * _COUNTED_MARKUP, 2)),)
    return tuple(
        Pack(
            max(1, int(pounds * GRAMS_PER_POUND / part.grams)),
            round(pounds * _PRICE_PER_POUND * dearer, 2),
        )
        for pounds, dearer in _POUNDS
    )


@dataclass(frozen=True)
class Cover:
    """The cheapest packs that hold at least so many pieces."""

    price: float
    bags: tuple[int, ...]


def cheapest(supplier: Seller, part: Part, pieces: int) -> Cover:
    """The cheapest cover of a quantity, proven by dynamic programming over steps."""
    return _cover(packs(supplier, part), pieces)


@cache
def _cover(offered: tuple[Pack, ...], pieces: int) -> Cover:
    """g(q) = least price over packs of g(q - pack) + its price; nought for q <= 0.

    Quantities beyond a few of the largest pack take largest packs first: they are the
    cheapest by the piece.
    """
    largest = max(offered, key=lambda pack: pack.pieces)
    full = max(0, pieces // largest.pieces - 3)
    rest = pieces - full * largest.pieces
    found = _least(offered, rest)
    return Cover(
        round(found.price + full * largest.price, 2),
        (largest.pieces,) * full + found.bags,
    )


def _least(offered: tuple[Pack, ...], pieces: int) -> Cover:
    if pieces <= 0:
        return Cover(0.0, ())
    best = {0: Cover(0.0, ())}
    # Quantities reached from above: the remainder after each choice of packs.
    todo = [pieces]
    order: list[int] = []
    while todo:
        left = todo.pop()
        if left in order or left <= 0:
            continue
        order.append(left)
        todo += [max(0, left - pack.pieces) for pack in offered]
    for left in sorted(order):
        choices = [
            Cover(
                best[max(0, left - pack.pieces)].price + pack.price,
                (*best[max(0, left - pack.pieces)].bags, pack.pieces),
            )
            for pack in offered
        ]
        best[left] = min(choices, key=lambda cover: (cover.price, len(cover.bags)))
    return best[pieces]


def cheaper(parts: tuple[Part, ...], wanted: Mapping[int, int]) -> tuple[Seller, float]:
    """The supplier that asks least for the whole list, its shipping included."""
    offers = []
    for supplier in SUPPLIERS:
        goods = sum(cheapest(supplier, parts[at], n).price for at, n in wanted.items())
        shipping = 0.0 if goods >= supplier.free_from else supplier.shipping
        offers.append((goods + shipping, supplier.name, supplier))
    price, _name, best = min(offers, key=lambda offer: offer[:2])
    return best, price
