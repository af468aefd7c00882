"""Mending running figures that lie: the movements are the truth, and never change."""

from django.db import transaction

from inventory.ledger.actions.posting import want_recheck
from inventory.ledger.models import Balance, Bin, KeptSum
from inventory.ledger.queries.checking import sums_of
from inventory.ledger.queries.counts import known_since
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
        last, moved = known_since(bin)
        Bin.objects.filter(pk=bin.pk).update(last_count=last, moved_since=moved)
    KeptSum.objects.all().delete()
    return changed


def _reckon_item(item: int) -> int:
    rows = list(Balance.objects.select_for_update().filter(item=item).order_by("place"))
    sums = sums_of(item)
    wrong = [
        row
        for row in rows
        if row.quantity != sums[row.place_id]
        and (row.open_ended or sums[row.place_id] >= 0)
    ]
    for row in wrong:
        Balance.objects.filter(pk=row.pk).update(quantity=sums[row.place_id])
        Bin.objects.filter(place=row.place_id).update(
            count_it=True, count_reason=REASON
        )
    if wrong:
        want_recheck(item)
    return len(wrong)
