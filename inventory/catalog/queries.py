"""Reads about items."""

from collections.abc import Iterable
from decimal import Decimal

from django.db.models import Q, QuerySet

from inventory.catalog.models import Callout, Item


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


def search(text: str = "", kind: str = "") -> QuerySet[Item]:
    """Items whose words, callout or any spelling contain the text."""
    rows = Item.objects.all()
    if kind:
        rows = rows.filter(kind=kind)
    if text:
        rows = rows.filter(
            Q(words__icontains=text)
            | Q(callout__icontains=text)
            | Q(callouts__text__icontains=spelled(text))
        ).distinct()
    return rows


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
