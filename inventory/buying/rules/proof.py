"""A plan checked against its problem, piece by piece, apart from whoever made it."""

from collections.abc import Iterator

from inventory.buying.rules.orderplan import Problem, Solution, bills


def broken(problem: Problem, plan: Solution) -> list[str]:
    """What the plan does not keep of what was asked; empty when it keeps all.

    The problem is one within reach; what the plan says it misses is taken off first.
    """
    return [*_packs(problem, plan), *_minimums(problem, plan), *_covers(problem, plan)]


def _packs(problem: Problem, plan: Solution) -> Iterator[str]:
    offers = {row.key: row for row in problem.offers}
    for row in plan.taken:
        most = offers[row.offer].most
        if row.packs < 0 or (most is not None and row.packs > most):
            yield f"offer {row.offer}: {row.packs} packs of at most {most}"
    if any(row.pieces < 0 for row in plan.cuts):
        yield "pieces grow longer"


def _minimums(problem: Problem, plan: Solution) -> Iterator[str]:
    least = {row.key: row.minimum for row in problem.suppliers}
    for bill in bills(problem, plan.taken):
        if bill.goods < least[bill.supplier]:
            yield f"supplier {bill.supplier}: under the minimum order"


def _covers(problem: Problem, plan: Solution) -> Iterator[str]:
    by_item = problem.by_item()
    few = {(row.item, row.day): row.pieces for row in plan.missed}
    for item in sorted(set(by_item) | {row.longer for row in plan.cuts}):
        wants = {row.day: row.pieces for row in by_item.get(item, ())}
        days = set(wants) | {row.day for row in plan.cuts if row.longer == item}
        for day in sorted(days):
            wanted = max([0, *(n for on, n in wants.items() if on <= day)])
            if supplied(problem, plan, item, day) < wanted - few.get((item, day), 0):
                yield f"item {item}: short by day {day}"


def supplied(problem: Problem, plan: Solution, item: int, day: int) -> int:
    """Pieces of an item that a plan has by a day, cut in and less cut away.

    A pack past its life counts here: what it served before is served.
    """
    offers = {row.key: row for row in problem.offers}
    found = problem.spare.get(item, 0)
    for taken in plan.taken:
        offer = offers[taken.offer]
        if offer.item == item and offer.lead_days <= day:
            found += offer.pieces * taken.packs
    for cut in plan.cuts:
        if cut.day <= day:
            found += cut.pieces * ((cut.shorter == item) - (cut.longer == item))
    return found
