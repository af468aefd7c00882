"""An order plan in sentences: what is late, what goes along, what to cut."""

from collections.abc import Iterator
from decimal import Decimal
from math import ceil

from inventory.buying.rules.market import Market, StageWant
from inventory.buying.rules.orderplan import (
    FEW,
    LATE,
    LIFE,
    NOBODY,
    Bill,
    Missed,
    SellerTerms,
    Solution,
    bills,
)
from inventory.buying.rules.proof import supplied

# More would be a list, not a hint.
MOST_HINTS = 4
FOR_EVER = 10**6
# Free shipping that is further off than this many times its price is no hint.
FAR = 3


def late(market: Market, plan: Solution) -> list[str]:
    """What is not there by its day, each in a sentence that says what can be done."""
    found: dict[tuple[int, str], Missed] = {}
    for row in plan.missed:
        key = (row.item, row.why)
        if key not in found or row.pieces > found[key].pieces:
            found[key] = row
    return [_missed(market, row) for row in found.values()]


def _missed(market: Market, row: Missed) -> str:
    thing = market.things[row.item]
    what = f"{row.pieces} {thing.unit} of {thing.title}{_stage(market, row)}"
    day = market.day_words(row.day)
    if row.why == NOBODY:
        return f"nobody is noted who sells {what} at a price: note an offer of it."
    if row.why == LIFE:
        return (
            f"{what} is left for a later order: what is bought now would be past its "
            f"life on {day}."
        )
    if row.why == LATE:
        name = next(s.name for s in market.problem.suppliers if s.key == row.supplier)
        days = f"{row.late} day{'' if row.late == 1 else 's'}"
        return (
            f"no supplier is quick enough: {what} is wanted by {day}; the quickest, "
            f"{name}, would be {days} late."
        )
    return f"not enough is sold in time: {what} stays short on {day}."


def _stage(market: Market, row: Missed) -> str:
    names = [each.stage for each in market.asked if each.item == row.item]
    return f" for {names[0]}" if names and row.why != FEW else ""


def advice(market: Market, plan: Solution) -> list[str]:
    """What is worth knowing before ordering."""
    found: list[str] = []
    suppliers = {row.key: row for row in market.problem.suppliers}
    said: set[int] = set()
    for bill in bills(market.problem, plan.taken):
        supplier = suppliers[bill.supplier]
        found += _free_shipping(market, supplier, bill)
        found += _goes_anyway(market, plan, supplier, said)
    return [*found, *cuts(market, plan)]


def _free_shipping(market: Market, supplier: SellerTerms, bill: Bill) -> Iterator[str]:
    if supplier.free_from is None or not bill.shipping:
        return
    more = supplier.free_from - bill.goods
    if more > max(bill.goods, FAR * bill.shipping):
        return
    yield (
        f"Another {market.says(more)} of goods makes {supplier.name}'s shipping of "
        f"{market.says(bill.shipping)} free."
    )


def _goes_anyway(
    market: Market, plan: Solution, supplier: SellerTerms, said: set[int]
) -> Iterator[str]:
    """What later stages want that this parcel could bring along."""
    added: list[str] = []
    cost = Decimal(0)
    for want in _last_wants(market):
        if want.item in said:
            continue
        more = want.pieces - supplied(market.problem, plan, want.item, FOR_EVER)
        offer = _along(market, supplier, want, more)
        if offer is None:
            continue
        said.add(want.item)
        key, packs, goods = offer
        size = market.packs[key].words
        thing = market.things[want.item]
        added.append(f"{packs} x {size} of {thing.title} for {want.stage}")
        cost += goods
        if len(added) == MOST_HINTS:
            break
    if added:
        yield (
            f"The parcel from {supplier.name} goes anyway: adding {_listed(added)} now "
            f"costs only the goods, {market.says(cost)}, and saves a parcel of "
            f"{market.says(supplier.shipping)} later."
        )


def _last_wants(market: Market) -> list[StageWant]:
    """The first stage after the days looked ahead that wants more of an item."""
    found: dict[int, StageWant] = {}
    for row in market.later:
        found.setdefault(row.item, row)
    return list(found.values())


def _along(
    market: Market, supplier: SellerTerms, want: StageWant, more: int
) -> tuple[int, int, Decimal] | None:
    """The cheapest way of bringing so many along: offer, packs, cost."""
    choices = []
    for offer in market.problem.offers:
        if (offer.item, offer.supplier) != (want.item, supplier.key) or more <= 0:
            continue
        packs = ceil(more / offer.pieces)
        if offer.serves(want.day) and (offer.most is None or packs <= offer.most):
            choices.append((offer.goods(packs), packs, offer.key))
    if not choices:
        return None
    goods, packs, key = min(choices)
    return key, packs, goods


def _listed(rows: list[str]) -> str:
    return " and ".join([", ".join(rows[:-1]), rows[-1]]) if rows[1:] else rows[0]


def cuts(market: Market, plan: Solution) -> list[str]:
    """'Cut 40 of the longer down to the shorter', one sentence a pair of lengths."""
    pairs: dict[tuple[int, int], list[int]] = {}
    for row in plan.cuts:
        pairs.setdefault((row.longer, row.shorter), []).append(row.pieces)
    names = {key: thing.title for key, thing in market.things.items()}
    return [
        f"Cut {sum(pieces)} of {names[longer]} down to {names[shorter]}: cheaper than "
        "another pack. Mark what is cut, and measure it before it is driven."
        for (longer, shorter), pieces in pairs.items()
    ]
