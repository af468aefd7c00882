"""One order shared among suppliers, each shipping once.

The order plan weighs the same as one program, and free shipping too: here nothing goes
to the dearer of two suppliers only so that its parcel ships free.
"""

from collections.abc import Mapping, Sequence
from itertools import combinations

from inventory.supply.rehearsal.aircraft import Part
from inventory.supply.rehearsal.market import SUPPLIERS, Supplier, cheapest

Lists = Sequence[tuple[Supplier, Mapping[int, int]]]


def shared(parts: Sequence[Part], wanted: Mapping[int, int]) -> Lists:
    """The cheapest way to share a list: pieces by part, for each supplier asked.

    Every set of suppliers is tried; in one, each part goes to who asks least for it.
    """
    sets = [
        chosen
        for size in range(1, len(SUPPLIERS) + 1)
        for chosen in combinations(SUPPLIERS, size)
    ]
    return min(
        (_among(chosen, parts, wanted) for chosen in sets),
        key=lambda lists: price(parts, lists),
    )


def _among(
    chosen: Sequence[Supplier], parts: Sequence[Part], wanted: Mapping[int, int]
) -> Lists:
    lists: dict[str, dict[int, int]] = {each.name: {} for each in chosen}
    for at, pieces in wanted.items():
        best = min(chosen, key=lambda each: cheapest(each, parts[at], pieces).price)
        lists[best.name][at] = pieces
    return [(each, lists[each.name]) for each in chosen if lists[each.name]]


def price(parts: Sequence[Part], lists: Lists) -> float:
    """What the lists cost, shipping included."""
    total = 0.0
    for supplier, wanted in lists:
        goods = sum(cheapest(supplier, parts[at], n).price for at, n in wanted.items())
        total += goods + (0.0 if goods >= supplier.free_from else supplier.shipping)
    return total
