"""What was ordered or is offered of one item is another's: merged, or parted."""

from collections.abc import Iterable

from inventory.catalog.models import Item
from inventory.ordering.models import Offer, OrderLine

PACK = ("supplier_id", "pack", "pack_grams")


def buy_as_other(*, old: Item, new: Item) -> dict[str, list[int]]:
    """Order lines and offers of an item become another's; returns what moved.

    An offer that the other has already, of the same pack, stays where it is.
    """
    lines = OrderLine.objects.filter(item=old)
    there = set(Offer.objects.filter(item=new).values_list(*PACK))
    offers = Offer.objects.filter(item=old).values_list("pk", *PACK)
    moved = {
        "lines": list(lines.values_list("pk", flat=True)),
        "offers": [pk for pk, *pack in offers if tuple(pack) not in there],
    }
    lines.update(item=new)
    Offer.objects.filter(pk__in=moved["offers"]).update(item=new)
    return moved


def buy_as_before(
    *, old: Item, new: Item, lines: Iterable[int] = (), offers: Iterable[int] = ()
) -> None:
    """Take that back for all that is still bought as `new`, and was as `old` before."""
    OrderLine.objects.filter(pk__in=list(lines), item=new).update(item=old)
    Offer.objects.filter(pk__in=list(offers), item=new).update(item=old)
