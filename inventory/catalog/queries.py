"""Reads about items."""

import re
from collections import defaultdict
from collections.abc import Collection, Iterable

from django.db.models import Q, QuerySet

from inventory.catalog.models import Callout, Item, ItemChange, Wording
from inventory.catalog.rules import KINDS, USUAL_CALLOUTS, USUAL_WORDS, Kind
from inventory.errors import Refused
from inventory.prepared import Prepared
from inventory.trade import sizes
from inventory.trade.callouts import also_written, readings
from inventory.trade.likeness import are_alike

MOST_WORDS = 8
_OF_SHAPE = Prepared(
    lambda kind, head, diameter: Item.objects.filter(
        kind=kind, head=head, diameter_in=diameter
    ).order_by()
)


def spelled(text: str) -> str:
    """A callout as it is compared: upper case, single spaces, trimmed."""
    return " ".join(text.upper().split())[:120]


def _stocked() -> QuerySet[Item]:
    """All but what was merged into another item."""
    return Item.objects.filter(became=None)


def item_called(text: str) -> Item | None:
    """The item that a callout already seen by the shop names."""
    row = Callout.objects.select_related("item").filter(text=spelled(text)).first()
    return row.item if row else None


def item_meant(text: str) -> Item | None:
    """An item by a spelling the shop has seen, or by what its callout means."""
    if not text:
        return None
    known = item_called(text)
    if known is not None:
        return known
    keys = [each.key for each in readings(text).found]
    return item_with_key(keys[0]) if len(keys) == 1 else None


def meaning_besides(text: str, item: Item | None, callout: str = "") -> str:
    """What a text means other than this item, in words; '' where it is free to name it.

    `item` is None for one that is not here yet: `callout` says what it will be.
    """
    known = item_called(text)
    if known is not None:
        return "" if item is not None and known.pk == item.pk else known.title
    found = {each.key: each.words for each in readings(text).found}
    mine = {item.key} if item else {each.key for each in readings(callout).found}
    if not found or found.keys() & mine:
        return ""
    return " or ".join(found.values())


def item_with_key(key: str) -> Item | None:
    """The item that is meant by a key: what it was merged into, where it was."""
    row = Item.objects.select_related("became").filter(key=key).first()
    return row and (row.became or row)


def items_with_words(text: str) -> list[Item]:
    """The items that are called just so: '#40 drill, 6 in'."""
    words = " ".join(text.split())
    ways = {words, *(sizes.said(words, each) for each in sizes.Lengths)}
    match = Q()
    for way in ways:
        match |= Q(words__iexact=way)
    return list(_stocked().filter(match))


def names_of_things() -> list[tuple[str, str]]:
    """What can be asked for while it is typed: a callout, else words; and the words.

    First what the shop has, then what is stocked most.
    """
    rows = _stocked().filter(recognised=True).values_list("callout", "words")
    mine = {callout or words: words for callout, words in rows}
    usual = {
        text: read.words for text in USUAL_CALLOUTS for read in readings(text).found
    }
    usual |= {words: words for words in USUAL_WORDS}
    return [*mine.items(), *((text, usual[text]) for text in usual if text not in mine)]


def spellings_of(items: Collection[int]) -> dict[str, int]:
    """Every spelling that names one of these items, seen here or standard."""
    rows = Callout.objects.filter(item__in=list(items))
    seen = dict(rows.values_list("text", "item_id"))
    also = {other: seen[text] for text in seen for other in also_written(text)}
    return {**also, **seen}


def items_called(texts: Iterable[str]) -> dict[str, Item]:
    """Known items by spelling, in one read."""
    rows = Callout.objects.select_related("item").filter(
        text__in={spelled(text) for text in texts}
    )
    return {row.text: row.item for row in rows}


def how_lengths_are_said() -> sizes.Lengths:
    """How the lengths of what callouts name are said in this shop."""
    row = Wording.objects.first()
    return sizes.Lengths(row.lengths) if row else sizes.Lengths.INCHES


def item_numbered(pk: int) -> Item:
    """Errors: `catalog.no_item`."""
    row = Item.objects.filter(pk=pk).first()
    if row is None:
        raise Refused("catalog.no_item", f"There is no item {pk} here.")
    return row


def changes_of(item: Item) -> list[ItemChange]:
    """What was changed of an item, the newest first."""
    rows = ItemChange.objects.filter(Q(item=item) | Q(other=item))
    return list(rows.select_related("by", "item", "other"))


def change_numbered(pk: int) -> ItemChange:
    """Errors: `catalog.no_change`."""
    row = ItemChange.objects.select_related("item", "other").filter(pk=pk).first()
    if row is None:
        raise Refused("catalog.no_change", f"There is no change {pk} of an item here.")
    return row


def search(text: str = "", kind: str = "") -> QuerySet[Item]:
    """Items that a person's words mean: a callout in any spelling, or words in any order.

    '3/32 flush 7/32' finds the rivet, 'ad3-3.5' its callout, 'AN426AD3-3.5' the same
    rivet under its other name.
    """
    rows = _stocked()
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
    kinds = [kind.code for kind in KINDS.values() if _is_kind(word, kind)]
    match |= Q(kind__in=kinds)
    return match | Q(callout__icontains=word) | Q(callouts__text__icontains=spelling)


def _is_kind(word: str, kind: Kind) -> bool:
    """Whether a word is one of a kind's own: 'rivet' of 'solid rivet', 'drills'."""
    plain = word.lower()
    return plain in kind.word.split() or plain.removesuffix("s") in kind.word.split()


def look_alikes(item: Item) -> list[Item]:
    """What a hurried hand takes for this item, nearest first."""
    if not item.head or item.diameter_in is None:
        return []
    return nearest(item, _OF_SHAPE(item.kind, item.head, item.diameter_in))


def nearest(item: Item, pool: Iterable[Item]) -> list[Item]:
    """The look-alikes of an item among some, the nearest in length first."""
    found = [row for row in pool if row.pk != item.pk and are_alike(row, item)]
    length = item.length_in or 0
    return sorted(found, key=lambda row: (abs((row.length_in or 0) - length), row.pk))


def things_around(item: Item, above: int, below: int) -> list[Item]:
    """Items of one's kind and diameter before and after it, in the order of all lists."""
    rows = _stocked().filter(kind=item.kind, diameter_in=item.diameter_in)
    keys = list(rows.values_list("pk", flat=True))
    at = keys.index(item.pk) if item.pk in keys else 0
    return list(rows.filter(pk__in=keys[max(0, at - above) : at + below]))


def lengths_of(item: Item) -> list[Item]:
    """Every length of an item's part, its own too, the shortest first; else none."""
    rows = _stocked().filter(
        kind=item.kind,
        diameter_in=item.diameter_in,
        head=item.head,
        alloy=item.alloy,
        length_in__isnull=False,
    )
    if item.length_in is None:
        return []
    return [row for row in rows.order_by("length_in") if row.family == item.family]


def look_alikes_of(items: Collection[int]) -> dict[int, set[int]]:
    """What a hurried hand takes for each of these items, in one read."""
    wanted = set(items)
    groups: dict[tuple[object, ...], list[Item]] = defaultdict(list)
    for item in Item.objects.exclude(head="").exclude(length_in=None):
        groups[item.kind, item.head, item.diameter_in].append(item)
    found: dict[int, set[int]] = defaultdict(set)
    for group in groups.values():
        for one in group:
            if one.pk in wanted:
                found[one.pk] |= {row.pk for row in group if are_alike(one, row)}
    return found
