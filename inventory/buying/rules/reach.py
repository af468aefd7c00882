"""What can be had at all, and by when: settled before anything is solved."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from inventory.buying.rules.orderplan import LATE, LIFE, NOBODY, Missed, Problem, Want


@dataclass(frozen=True)
class Reachable:
    """A problem every want of which somebody may serve, and what was put aside."""

    problem: Problem
    missed: tuple[Missed, ...]


def reachable(problem: Problem) -> Reachable:
    """Put later what nobody brings in time, and aside what nobody can bring.

    A want without a seller, and without a longer piece to cut, is missed for good. One
    that comes too late is wanted on the quickest seller's day instead: it is late, and
    it is still ordered. One that every pack bought now would be too old for is left
    for a later order.
    """
    wants: list[Want] = []
    missed: list[Missed] = []
    for rows in problem.by_item().values():
        kept, lost = _in_reach(problem, rows)
        wants += kept
        wants += _in_the_end(problem, kept)
        missed += lost
    return Reachable(replace(problem, wants=tuple(wants)), tuple(missed))


def _in_reach(problem: Problem, rows: list[Want]) -> tuple[list[Want], list[Missed]]:
    kept: list[Want] = []
    lost: list[Missed] = []
    before = standing = 0
    for row in rows:
        new, before = row.pieces - before, row.pieces
        miss = _why_not(problem, replace(row, pieces=new)) if new else None
        if miss is not None:
            lost.append(miss)
        if miss is None or miss.why == LATE:
            standing += new
            day = row.day + (miss.late if miss else 0)
            kept.append(Want(row.item, day, standing))
    return sorted(kept, key=lambda want: (want.day, want.pieces)), lost


def _why_not(problem: Problem, new: Want) -> Missed | None:
    """Why these pieces cannot be here by their day; None where somebody can."""
    mine = [row for row in problem.offers if row.item == new.item]
    if any(row.serves(new.day) for row in mine):
        return None
    if _cuttable(problem, new.item, new.day):
        return None
    if not mine:
        return Missed(new.item, new.day, new.pieces, NOBODY)
    first = min(mine, key=lambda row: (row.lead_days, row.supplier))
    if first.lead_days <= new.day:
        return Missed(new.item, new.day, new.pieces, LIFE)
    late = first.lead_days - new.day
    return Missed(new.item, new.day, new.pieces, LATE, late, first.supplier)


def _in_the_end(problem: Problem, rows: list[Want]) -> Iterator[Want]:
    """Once every seller could have delivered, all that is wanted is here."""
    ends = [
        offer.lead_days
        for row in rows[-1:]
        for offer in problem.offers
        if offer.item == row.item and offer.life_days is None
    ]
    if ends and max(ends) > rows[-1].day:
        yield replace(rows[-1], day=max(ends))


def _cuttable(problem: Problem, item: int, day: int) -> bool:
    """Whether a longer piece is at hand by a day, to be cut down to this one."""
    longer = {row.longer for row in problem.cuts if row.shorter == item}
    if any(problem.spare.get(row, 0) for row in longer):
        return True
    return any(row.item in longer and row.lead_days <= day for row in problem.offers)
