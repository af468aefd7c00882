"""A look at the bench: what somebody saw in the bin that is open. Pure.

`static/looking.js` is the same for a bench that is off line.
"""

from inventory.errors import Refused
from inventory.ledger.rules import Verb, checked_quantity, is_unlikely
from inventory.ledger.rules.looking import Seen, Sight
from inventory.scanning.rules.saying import NEARLY_EMPTY, say
from inventory.scanning.rules.states import STOP, TAKEN, Commit, Outcome, Pending


def is_unlikely_few(pending: Pending, sight: Sight) -> bool:
    """Whether 'nearly empty' may be a slip: the bin should be far from it."""
    few = Seen(Sight.FEW).units or 0
    odd = is_unlikely(Verb.LOOK, few, pending.held, pending.usual)
    return sight is Sight.FEW and odd and not pending.sure


def unlikely_few(pending: Pending) -> Outcome:
    """It is asked about once."""
    said = say("unlikely_few", number=pending.bin, held=pending.held)
    return Outcome("unlikely", STOP, said, loud=True)


def noted(pending: Pending, sight: Sight) -> Outcome:
    """What was seen, to be written. Errors: `ledger.look`, `ledger.quantity`.

    What it makes of the record only the server knows, which knows how sure that is.
    """
    if sight is Sight.PLENTY and pending.held <= NEARLY_EMPTY:
        raise Refused(
            "ledger.look",
            say("not_plenty", number=pending.bin, held=pending.held),
        )
    is_about = sight is Sight.ABOUT
    pieces = checked_quantity(pending.quantity) if is_about else 0
    seen = say(f"seen_{sight}", quantity=pieces)
    said = say("looked", number=pending.bin, seen=seen, words=pending.words)
    commit = Commit(sight, pending.bin, pieces)
    return Outcome("noted", TAKEN, said, commit=commit)
