"""Quantities at the bench: what is keyed, asked, and what may be a slip. Pure.

`static/quantities.js` is the same for a bench that is off line.
"""

from dataclasses import replace

from inventory.errors import Refused
from inventory.ledger.rules import Verb, checked_quantity
from inventory.scanning.rules import reading
from inventory.scanning.rules.facts import BinFacts
from inventory.scanning.rules.reading import Code
from inventory.scanning.rules.saying import say
from inventory.scanning.rules.states import (
    STOP,
    TAKEN,
    Commit,
    Outcome,
    Pending,
    State,
    Step,
)


def asked_then(found: BinFacts, commit: Commit | None) -> int | None:
    """What is asked of another tin of the same, less what was just pulled."""
    if commit is None or commit.verb != Verb.PULL:
        return found.asked
    return max(0, (found.asked or 0) - commit.quantity) if found.is_asked_for else None


def unlikely(pending: Pending) -> Outcome:
    """Asked about once: a slip of the finger, or is it right?"""
    said = say(
        "unlikely",
        quantity=pending.quantity,
        words=pending.words,
        number=pending.bin,
        held=pending.held,
        usual=say("usual", usual=pending.usual) if pending.usual else "",
    )
    return Outcome("unlikely", STOP, said, loud=True)


def keyed(state: State, code: Code) -> Step:
    """A keyed number sets the quantity; a card below ten appends its digit."""
    pending = state.pending
    if pending is None:
        raise Refused("scan.nothing_open", say("quantity_of_what"))
    appends = code.type == reading.QUANTITY and code.number < 10
    value = code.number
    if appends and pending.digits:
        value = (pending.quantity or 0) * 10 + code.number
    zero = appends or state.verb == Verb.COUNT
    shown = code.text if code.type == reading.NUMBER else value
    checked_quantity(shown, zero=zero)
    state = replace(
        state,
        pending=replace(
            pending, quantity=value, digits=appends, keyed=True, sure=False
        ),
    )
    return state, Outcome(
        "quantity", TAKEN, say("quantity", quantity=value, words=pending.words)
    )
