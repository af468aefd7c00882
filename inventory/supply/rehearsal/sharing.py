"""One order shared among suppliers, each shipping once.

The order plan weighs the same as one program, and free shipping too: here nothing goes
to the dearer of two suppliers only so that its parcel ships free.
"""

from collections.abc import Mapping, Sequence
from itertools import combinations

from inventory.supply.rehearsal.aircraft import Part
from inventory.supply.rehearsal.market import SUPPLIERS, Supplier, cheapest
from inventory.supply.rehearsal.reckoning import Wish, cost, worthwhile

Lists = Sequence[tuple[Supplier, Mapping[int, int]]]


def combined(parts: Sequence[Part], wishes: Mapping[int, Wish]) -> Lists:
    """The order that costs least: its price, shipping, and running out as reckoned.

    Every set of suppliers is tried, also none where nothing must come; in one, each part
    goes to who asks least for it, and only what is worth that price is bought.
    """
    nothing = sum(cost(parts[at], wish, 0) for at, wish in wishes.items())
    must = any(wish.least for wish in wishes.values())
    found: list[tuple[float, Lists]] = [] if must else [(nothing, [])]
    for size in range(1, len(SUPPLIERS) + 1):
        for chosen in combinations(SUPPLIERS, size):
            wanted = {
                at: worthwhile(parts[at], wish, chosen) for at, wish in wishes.items()
            }
            lists = _among(chosen, parts, {at: n for at, n in wanted.items() if n})
            goods = sum(
                cost(parts[at], wish, wanted[at], chosen) for at, wish in wishes.items()
            )
            found.append((goods + shipping(parts, lists), lists))
    return min(found, key=lambda each: each[0])[1]


def _among(
    chosen: Sequence[Supplier], parts: Sequence[Part], wanted: Mapping[int, int]
) -> Lists:
    lists: dict[str, dict[int, int]] = {each.name: {} for each in chosen}
    for at, pieces in wanted.items():
        best = min(chosen, key=lambda each: cheapest(each, parts[at], pieces).price)
        lists[best.name][at] = pieces
    return [(each, lists[each.name]) for each in chosen if lists[each.name]]


def shipping(parts: Sequence[Part], lists: Lists) -> float:
    """What the parcels of an order cost to ship; a large one goes free."""
    total = 0.0
    for supplier, wanted in lists:
        goods = sum(cheapest(supplier, parts[at], n).price for at, n in wanted.items())
        total += 0.0 if goods >= supplier.free_from else supplier.shipping
    return total
