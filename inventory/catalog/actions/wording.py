"""How items that a callout names are called: in inches, or with millimetres beside."""

from django.db import transaction

from inventory.catalog.models import Item, Wording
from inventory.trade.sizes import with_millimetres, without_millimetres


def say_millimetres(*, beside: bool) -> int:
    """Call every such item so from now on; how many are called otherwise than before.

    What nobody can read stays as it is written, and what a person named as it was named.
    """
    say = with_millimetres if beside else without_millimetres
    with transaction.atomic():
        Wording.objects.update_or_create(pk=1, defaults={"millimetres": beside})
        named = Item.objects.filter(recognised=True).exclude(callout="")
        other = [row for row in named if say(row.words) != row.words]
        for row in other:
            row.words = say(row.words)
        Item.objects.bulk_update(other, ["words"], batch_size=500)
    return len(other)
