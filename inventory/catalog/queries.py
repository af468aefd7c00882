"""Reads about items."""

import re
from collections.abc import Iterable
from decimal import Decimal

from django.db.models import Q, QuerySet

from inventory.catalog.models import Callout, Item
from inventory.errors import Refused
from inventory.trade.callouts import readings

MOST_WORDS = 8


def spelled(text: str) -> str:
    """A callout as it is compared: upper case, single spaces, trimmed."""
    return " ".join(text.upper().split())[:120]


def item_called(text: str) -> Item | None:
    """The item that a callout already seen by the shop names."""
    row = Callout.objects.select_related("item").filter(text=spelled(text)).first()
    return row.item if row else None


def items_called(texts: Iterable[str]) -> dict[str, Item]:
    """Known items by spelling, in one read."""
    rows = Callout.objects.select_related("item").filter(
        text__in={spelled(text) for text in texts}
    )
    return {row.text: row.item for row in rows}


def item_numbered(pk: int) -> Item:
    """Errors: `catalog.no_item`."""
    row = Item.objects.filter(pk=pk).first()
    if row is None:
        raise Refused("catalog.no_item", f"There is no item {pk} here.")
    return row


def search(text: str = "", kind: str = "") -> QuerySet[Item]:
    """Items that a person's words mean: a callout in any spelling, or words in any order.

    '3/32 flush 7/32' finds the rivet, 'ad3-3.5' its callout, 'AN426AD3-3.5' the same
    rivet under its other name.
    """
    rows = Item.objects.all()
    if kind:
        rows = rows.filter(kind=kind)
    words = text.replace(",", " ").split()
    if not words:
        return rows
    fits = Q()
    for word in words[:MOST_WORDS]:
        fits &= _says(word)
    meant = Q(key__in=[each.key for each in readings(text).found])
    return rows.filter(Q(pk__in=Item.objects.filter(fits)) | meant)


def _says(word: str) -> Q:
    """Whether an item's words, callout or a spelling hold a word; '3/32' not in '13/32'."""
    if word[0].isdigit():
        size = rf"(^|[^0-9/.]){re.escape(word)}($|[^0-9/.])"
        match = Q(words__iregex=size) | Q(size__iregex=size)
    else:
        match = Q(words__icontains=word) | Q(size__icontains=word)
    spelling = spelled(word)
    return match | Q(callout__icontains=word) | Q(callouts__text__icontains=spelling)


def neighbours_of(item: Item) -> QuerySet[Item]:
    """The look-alikes: the same rivet or bolt up to one sixteenth longer or shorter."""
    if item.length_in is None or item.diameter_in is None:
        return Item.objects.none()
    step = Decimal("0.0626")
    return Item.objects.filter(
        kind=item.kind,
        head=item.head,
        alloy=item.alloy,
        diameter_in=item.diameter_in,
        length_in__range=(item.length_in - step, item.length_in + step),
    ).exclude(pk=item.pk)
