"""One order shared among suppliers, each shipping once.

The order plan weighs the same as one program, and free shipping too: here nothing goes
to the dearer of two suppliers only so that its parcel ships free.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from inventory.forecasting.rules.stock import Deficit
from inventory.rehearsal.policy.reckoning import (
    SHARES,
    Wish,
    cost,
    cover,
    worthwhile,
)
from inventory.rehearsal.seen.plan import Part
from inventory.rehearsal.seen.prices import SUPPLIERS, Seller, cheapest

Lists = Sequence[tuple[Seller, Mapping[int, int]]]


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


@dataclass(frozen=True)
class _Step:
    """A quantity of a part that may be bought: its price, the chance to run out then."""

    pieces: int
    price: float
    chance: float


def filled(parts: Sequence[Part], shorts: Mapping[int, Deficit], money: float) -> Lists:
    """An order for so much money, each step where it spares most stops for its price.

    It begins with what is as likely as not wanted, whatever that costs.
    """
    steps = {at: _steps(parts[at], short) for at, short in shorts.items()}
    now = {at: rows[0] for at, rows in steps.items()}

    def lists(taken: Mapping[int, _Step]) -> Lists:
        wanted = {at: step.pieces for at, step in taken.items() if step.pieces}
        return _among(SUPPLIERS, parts, wanted)

    while True:
        left = money - price(parts, lists(now))
        found = [
            ((now[at].chance - step.chance) / (step.price - now[at].price), at, step)
            for at, rows in steps.items()
            for step in rows
            if now[at].price < step.price <= now[at].price + left
        ]
        for _worth, at, step in sorted(found, key=lambda each: each[:2], reverse=True):
            # A larger quantity may be cheapest elsewhere, in a parcel of its own.
            if price(parts, lists({**now, at: step})) <= money:
                now[at] = step
                break
        else:
            return lists(now)


def _steps(part: Part, short: Deficit) -> list[_Step]:
    rows = []
    for share in (0.5, *SHARES):
        pieces = short.to_buy(share)
        bags = cover(part, pieces)
        rows.append(_Step(pieces, bags.price, short.over(sum(bags.bags))))
    return rows


def _among(
    chosen: Sequence[Seller], parts: Sequence[Part], wanted: Mapping[int, int]
) -> Lists:
    lists: dict[str, dict[int, int]] = {each.name: {} for each in chosen}
    for at, pieces in wanted.items():
        best = min(chosen, key=lambda each: cheapest(each, parts[at], pieces).price)
        lists[best.name][at] = pieces
    return [(each, lists[each.name]) for each in chosen if lists[each.name]]


def shipping(parts: Sequence[Part], lists: Lists) -> float:
    """What the parcels of an order cost to ship; a large one goes free."""
    return sum(
        0.0 if _goods(parts, each) >= each[0].free_from else each[0].shipping
        for each in lists
    )


def price(parts: Sequence[Part], lists: Lists) -> float:
    """What an order costs, shipping included."""
    return sum(_goods(parts, each) for each in lists) + shipping(parts, lists)


def _goods(parts: Sequence[Part], one: tuple[Seller, Mapping[int, int]]) -> float:
    supplier, wanted = one
    return sum(cheapest(supplier, parts[at], n).price for at, n in wanted.items())
