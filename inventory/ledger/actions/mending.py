"""Mending running figures that lie: the movements are the truth, and never change."""

from django.db import transaction

from inventory.ledger.actions.posting import ask_for_a_count, want_recheck
from inventory.ledger.actions.undoing import know_again
from inventory.ledger.models import Balance, Bin, KeptSum
from inventory.ledger.queries.checking import sums_of
from inventory.people.models import User

REASON = "its balance was reckoned anew from the movements"


def reckon_anew(*, by: User) -> int:
    """Set balances, and what is known of bins, to what the movements say.

    What they add up to is summed anew by the next look at everything.
    Returns how many balances were changed; their bins are to be counted. A balance of
    a bin that the movements put below nothing stays: there a movement itself is wrong.
    """
    changed = 0
    for item in sorted(set(Balance.objects.values_list("item_id", flat=True))):
        with transaction.atomic():
            changed += _reckon_item(item)
    for bin in Bin.objects.all():
        know_again(bin)
    KeptSum.objects.all().delete()
    return changed


def _reckon_item(item: int) -> int:
    held = Balance.objects.select_for_update(of=("self",)).select_related("place")
    rows = list(held.filter(item=item).order_by("place"))
    sums = sums_of(item)
    wrong = [
        row
        for row in rows
        if row.quantity != sums[row.place_id]
        and (row.open_ended or sums[row.place_id] >= 0)
    ]
    for row in wrong:
        Balance.objects.filter(pk=row.pk).update(quantity=sums[row.place_id])
        ask_for_a_count(row.place, REASON, None)
    if wrong:
        want_recheck(item)
    return len(wrong)
