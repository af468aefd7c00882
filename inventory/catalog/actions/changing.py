"""Changing what an item is called and what it is, each change kept and taken back."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from inventory.catalog.models import Callout, Item, ItemChange
from inventory.catalog.queries import items_with_words, meaning_besides, spelled
from inventory.catalog.rules import MAX_TEXT
from inventory.errors import Refused
from inventory.trade import callouts

# An item's own fields: what it is, apart from where it is and what asks for it.
OWN = (
    "key",
    "kind",
    "words",
    "callout",
    "size",
    "form",
    "head",
    "alloy",
    "diameter_in",
    "length_in",
    "unit",
    "spoilage_class",
    "piece_mass_mg",
    "mass_is_weighed",
    "recognised",
    "traits",
)


def rename_item(*, item: Item, words: str, by: int, now: datetime) -> ItemChange:
    """Call an item otherwise, where no callout says what it is.

    Errors: `catalog.explained` where one does, `catalog.text`, `catalog.called`.
    """
    words = " ".join(words.split())
    if callouts.readings(item.callout).found:
        raise Refused(
            "catalog.explained",
            f"{item.callout} says what it is: its words stay as they are read. Give it "
            "another name beside them instead. Nothing was changed.",
            {"item": item.pk},
        )
    if not words or len(words) > MAX_TEXT:
        raise Refused(
            "catalog.text", f"Write a name of 1 to {MAX_TEXT} characters for it."
        )
    others = [row for row in items_with_words(words) if row.pk != item.pk]
    if others:
        raise Refused(
            "catalog.called",
            f"Another item is called '{words}' already: choose another name, or merge "
            "the two. Nothing was changed.",
            {"items": [row.pk for row in others]},
        )
    said = f"Renamed from '{item.words}' to '{words}'"
    return be_now(item=item, facts={"words": words}, said=said, by=by, now=now)


def be_now(
    *, item: Item, facts: Mapping[str, Any], said: str, by: int, now: datetime
) -> ItemChange:
    """Give an item other fields of its own, and keep the ones it had."""
    with transaction.atomic():
        before = _fields_of(item)
        for name, value in facts.items():
            setattr(item, name, value)
        item.save(update_fields=[*facts])
        if item.callout:
            Callout.objects.get_or_create(
                text=spelled(item.callout), defaults={"item": item}
            )
        return ItemChange.objects.create(
            item=item, at=now, by_id=by, said=said[:400], before=before
        )


def be_merged(
    *, old: Item, new: Item, moved: Mapping[str, Any], by: int, now: datetime
) -> ItemChange:
    """One item is another from now on; the names that named it name that."""
    names = Callout.objects.filter(item=old)
    moved = {**moved, "callouts": list(names.values_list("pk", flat=True))}
    names.update(item=new)
    Item.objects.filter(became=old).update(became=new)
    Item.objects.filter(pk=old.pk).update(became=new)
    said = f"'{old.title}' was merged into '{new.title}'"
    return ItemChange.objects.create(
        item=new, other=old, at=now, by_id=by, said=said[:400], moved=moved
    )


def be_parted(*, change: ItemChange) -> None:
    """What was merged is an item of its own again, with the names that it had."""
    names = Callout.objects.filter(pk__in=change.moved["callouts"], item=change.item)
    names.update(item=change.other)
    change.item.was.filter(pk__in=[change.other_id]).update(became=None)


def be_as_before(*, change: ItemChange) -> None:
    """Give an item the fields back that it had before a change.

    Errors: `catalog.exists` where another item is that by now.
    """
    item = change.item
    fields = {field.name: field for field in Item._meta.fields}
    facts = {name: fields[name].to_python(was) for name, was in change.before.items()}
    other = Item.objects.filter(key=facts["key"]).exclude(pk=item.pk).first()
    if other is not None:
        raise Refused(
            "catalog.exists",
            f"There is another {other.title} by now: merge the two instead. Nothing "
            "was changed.",
            {"item": other.pk},
        )
    Item.objects.filter(pk=item.pk).update(**facts)


def mark_back(*, change: ItemChange) -> None:
    """A change of an item is taken back; the last one of it only.

    Errors: `catalog.is_back`, `catalog.changed_since`.
    """
    if not ItemChange.objects.filter(pk=change.pk, is_back=False).update(is_back=True):
        raise Refused(
            "catalog.is_back", "That was taken back already. Nothing was changed."
        )
    newer = ItemChange.objects.filter(
        item=change.item, is_back=False, pk__gt=change.pk
    ).first()
    if newer is not None:
        raise Refused(
            "catalog.changed_since",
            f"It was changed again since: take that back first ('{newer.said}'). "
            "Nothing was changed.",
            {"change": newer.pk},
        )


def call_also(*, item: Item, text: str) -> None:
    """Let a name of the shop's own mean an item. Errors: `callout.empty`,
    `catalog.alias_taken`."""
    if not spelled(text):
        raise Refused("callout.empty", "Write the name that it is to go by, too.")
    besides = meaning_besides(text, item)
    if besides:
        raise Refused(
            "catalog.alias_taken",
            f"'{text}' means {besides} already: use another name, or merge the two.",
            {"callout": text},
        )
    Callout.objects.get_or_create(text=spelled(text), defaults={"item": item})


def call_no_more(*, item: Item, text: str) -> None:
    """Drop a name of an item's; what is asked for by it stays asked for.

    Errors: `catalog.explained` for the callout that says what it is.
    """
    if spelled(text) == spelled(item.callout):
        raise Refused(
            "catalog.explained",
            f"{text} is what it is: say 'this is really' to change that.",
        )
    Callout.objects.filter(item=item, text=spelled(text)).delete()


def _fields_of(item: Item) -> dict[str, Any]:
    row = Item.objects.values(*OWN).get(pk=item.pk)
    return {
        name: str(value) if isinstance(value, Decimal) else value
        for name, value in row.items()
    }
