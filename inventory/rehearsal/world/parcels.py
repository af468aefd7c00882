"""What really comes: bags a little off their weight, parcels that are sometimes late."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from inventory.rehearsal.seen.plan import Part
from inventory.rehearsal.seen.prices import Seller, cheapest

# A bag sold by weight holds so much more or less than its pieces' mass says.
PACK_SPREAD = 0.03
# The share of a supplier's parcels that are late, and by how many days: guesses.
LATE = {"by the pound": (0.10, (5, 21)), "by the bag": (0.06, (4, 14))}

Days = Callable[[Seller, np.random.Generator], int]


def days_taken(supplier: Seller, rng: np.random.Generator) -> int:
    """Days from order to bench: what is said and up to two; some are later still."""
    share, late = LATE[supplier.name]
    days = supplier.days + int(rng.integers(0, 3))
    return days + (int(rng.integers(*late)) if rng.random() < share else 0)


@dataclass(frozen=True)
class Parcel:
    """Bags on the way: arrival day, and what is really in them by part."""

    arrives: int
    pieces: Mapping[int, int]


@dataclass(frozen=True)
class Purchase:
    """A parcel and what it cost, shipping included."""

    parcel: Parcel
    price: float


def buy(
    parts: tuple[Part, ...],
    wanted: Mapping[int, int],
    supplier: Seller,
    day: int,
    rng: np.random.Generator,
    days: Days,
) -> Purchase:
    """Order so many pieces of each part from one supplier on a day."""
    price, inside = 0.0, {}
    for at, pieces in sorted(wanted.items()):
        cover = cheapest(supplier, parts[at], pieces)
        price += cover.price
        spread = rng.normal(0.0, PACK_SPREAD) if supplier.by_weight else 0.0
        inside[at] = max(1, round(sum(cover.bags) * (1 + spread)))
    shipping = 0.0 if price >= supplier.free_from else supplier.shipping
    arrives = day + days(supplier, rng)
    return Purchase(Parcel(arrives, inside), price + shipping)
