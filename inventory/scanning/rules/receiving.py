"""Which order goods that came are booked to. Pure.

`static/receiving.js` is the same for a bench that is off line; both pass one table.
"""

from collections.abc import Sequence
from dataclasses import replace

from inventory.errors import Refused
from inventory.ledger.rules import Verb
from inventory.scanning.rules.facts import Facts
from inventory.scanning.rules.saying import say
from inventory.scanning.rules.states import (
    STOP,
    TAKEN,
    Commit,
    OrderRow,
    Outcome,
    Pending,
    State,
    Step,
)


def is_not_on_order(pending: Pending) -> bool:
    """Whether the order in hand does not wait for what is being received."""
    named = pending.order
    return bool(named) and all(number != named for number, *_rest in pending.owed)


def must_say_which(pending: Pending) -> bool:
    """Whether somebody should say for which order this came, and was not asked yet."""
    several = pending.order is None and len(pending.owed) > 1
    return not pending.order_asked and (several or is_not_on_order(pending))


def order_of(pending: Pending) -> int:
    """The order named; else the one that has waited longest; 0: none."""
    if pending.order is not None:
        return pending.order
    return pending.owed[0][0] if pending.owed else 0


def which_order(pending: Pending) -> Outcome:
    """Asked about once, with the orders to choose from."""
    if is_not_on_order(pending):
        return not_on_order(pending)
    said = say("which_order", words=pending.words, orders=_listed(pending.owed))
    return Outcome("which_order", STOP, said, loud=True)


def not_on_order(pending: Pending) -> Outcome:
    """The wrong item in the bag, or the same parcel twice."""
    said = say("not_on_order", number=pending.order, words=pending.words)
    return Outcome("not_on_order", STOP, said, loud=True)


def waiting(pending: Pending) -> str:
    """' For order 3 (Reed & Daughters, 200).': the one named, or the only one, else ''."""
    rows = [row for row in pending.owed if pending.order in (None, row[0])]
    return say("waited_for", order=_listed(rows)) if len(rows) == 1 else ""


def owed_then(
    owed: Sequence[OrderRow], state: State, commit: Commit | None
) -> Sequence[OrderRow]:
    """The orders that matter at the next bin: none unless goods are received still, and
    of another tin of the same less what was just booked."""
    if state.verb != Verb.RECEIVE:
        return ()
    order, came = (commit.order, commit.quantity) if commit else (0, 0)
    left = [(n, left - came if n == order else left, by) for n, left, by in owed]
    return [row for row in left if row[0] != order or row[1] > 0]


def _listed(owed: Sequence[OrderRow]) -> str:
    rows = (
        {
            "number": number,
            "supplier": supplier,
            "pieces": f", {pieces}" if pieces else "",
        }
        for number, pieces, supplier in owed
    )
    return "; ".join(say("order_row", **row) for row in rows)


def order_named(state: State, number: int, facts: Facts) -> Step:
    """With nothing open, an order's goods come, bin after bin; else for this bin only."""
    pending = state.pending
    if pending is None and not number:
        raise Refused("scan.nothing_open", say("nothing_open"))
    if pending is None:
        fresh = State(person=state.person, verb=Verb.RECEIVE, order=number)
        said = say("order", number=number, supplier=facts.supplier)
        return fresh, Outcome("order", TAKEN, said)
    if state.verb != Verb.RECEIVE:
        raise Refused("scan.pending", say("then_the_order"))
    pending = replace(pending, order=number, owed=facts.owed, order_asked=False)
    state = replace(state, pending=pending)
    if is_not_on_order(pending):
        return state, not_on_order(pending)
    said = say("for_order" if number else "for_no_order", number=number)
    return state, Outcome("for_order", TAKEN, said)
