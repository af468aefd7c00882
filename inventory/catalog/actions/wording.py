"""How items that a callout names are called: in inches, in millimetres, or both."""

from django.db import transaction

from inventory.catalog.models import Item, Wording
from inventory.trade.sizes import Lengths, said


def say_lengths(lengths: Lengths) -> int:
    """Call every such item so from now on; how many are called otherwise than before.

    What nobody can read stays as it is written, and what a person named as it was named.
    """
    with transaction.atomic():
        Wording.objects.update_or_create(pk=1, defaults={"lengths": lengths})
        named = Item.objects.filter(recognised=True).exclude(callout="")
        other = [row for row in named if said(row.words, lengths) != row.words]
        for row in other:
            row.words = said(row.words, lengths)
        Item.objects.bulk_update(other, ["words"], batch_size=500)
    return len(other)
