"""A look into a bin, weighed against how far its record may be off."""

from inventory.forecasting.queries.doubts import doubtful_bins
from inventory.ledger.actions import verbs
from inventory.ledger.actions.posting import Ask, Done
from inventory.ledger.queries import Act, Bin
from inventory.ledger.queries.counts import count_record
from inventory.ledger.rules import Verb
from inventory.ledger.rules.looking import Seen
from inventory.ordering.queries.usual import checked_likely


def look_into(*, bin: Bin, seen: Seen, ask: Ask, sure: bool = False) -> Done:
    """Note what somebody saw in a bin; an empty one is counted by that.

    Errors: `ledger.look`, `ledger.scan_id*`; `ledger.unlikely` for what is far from what
    the bin should hold, unless somebody is `sure`.
    """
    if seen.units is not None:
        checked_likely(
            verb=Verb.LOOK,
            bin=bin,
            quantity=seen.units,
            sure=sure,
            scan_id=ask.scan_id,
        )
    rows = doubtful_bins([bin.item_id], count_record())
    doubt = next(row.doubt for row in rows if row.known.bin_id == bin.pk)
    return verbs.look(bin=bin, seen=seen, doubt=doubt, ask=ask)


def what_it_leaves(look: Act) -> str:
    """What the record makes of a look, in a sentence."""
    if look.verb == Verb.COUNT:
        return "Counted: none."
    if look.counted is None:
        return "That agrees with the record."
    return (
        f"The record said otherwise: the bin is taken to hold {look.counted:,}, give or "
        f"take {look.doubt or 0:.0f}. Count it when you can."
    )
