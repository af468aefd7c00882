"""Writers of items: from a drawing's callout, or from kind, size and form."""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db import transaction

from inventory.catalog.models import Callout, Item
from inventory.catalog.queries import (
    how_lengths_are_said,
    item_called,
    item_meant,
    item_with_key,
    items_with_words,
    spelled,
)
from inventory.catalog.rules import Description, described_by
from inventory.errors import Refused
from inventory.trade import callouts, drills, mass, sizes


def item_for_callout(*, text: str) -> Item:
    """The item a callout names, made at first sight.

    Equivalent callouts (AN, MS, NASM) come to one item. What the trade floor cannot
    read becomes an item of kind 'other' that says so. Errors: `callout.empty`.
    """
    if not text.strip():
        raise Refused("callout.empty", "There is no callout: write the part number.")
    known = item_called(text)
    if known:
        return known
    with transaction.atomic():
        try:
            item = _item_of(callouts.parse(text))
        except Refused:
            item = _unread(text)
        Callout.objects.get_or_create(text=spelled(text), defaults={"item": item})
        return item


def item_asked(*, text: str, sure: bool = False) -> Item:
    """The item that a person means: by callout in any spelling, by name, or by its words.

    What the trade floor can read is made at first sight; what nobody can read only when
    somebody is `sure`. Errors: `callout.empty`, `catalog.unread`, `catalog.several`.
    """
    known = item_meant(text)
    if known is not None:
        return known
    named = items_with_words(text)
    if len(named) > 1:
        raise Refused(
            "catalog.several",
            f"'{text[:80]}' is the name of {len(named)} things: write the callout, or the "
            "size and form too.",
            {"items": [row.pk for row in named]},
        )
    if named:
        return named[0]
    what = described_by(text)
    if what is not None:
        return item_described(what=what)
    if text.strip() and not sure and not callouts.readings(text).found:
        raise Refused(
            "catalog.unread",
            f"'{text[:80]}' is no callout that can be read, and nothing here is called so. "
            "Choose one of the list, or say that it is right: it is kept as it is "
            "written, and can be taught later.",
            {"callout": text[:120]},
        )
    return item_for_callout(text=text)


def item_described(*, what: Description, alias: str = "") -> Item:
    """The item of a kind, size and form; `alias` is a name plans call it by.

    Errors: `catalog.alias_taken` when that name already means something else.
    """
    with transaction.atomic():
        facts = facts_described(what, alias)
        key = facts.pop("key")
        item = item_with_key(key)
        if item is None:
            item, _made = Item.objects.get_or_create(key=key, defaults=facts)
        _go_by_name(item, what)
        if alias:
            row, _made = Callout.objects.get_or_create(
                text=spelled(alias), defaults={"item": item}
            )
            if row.item_id != item.pk:
                raise Refused(
                    "catalog.alias_taken",
                    f"{alias} already names {row.item.words}: use another name.",
                    {"callout": alias, "item": row.item_id},
                )
    return item


def _go_by_name(item: Item, what: Description) -> None:
    """Let its name be written where a callout is asked for, unless that means another."""
    if what.name and not callouts.readings(what.name).found:
        Callout.objects.get_or_create(text=spelled(what.name), defaults={"item": item})


def teach_callout(*, text: str, item: Item) -> Item | None:
    """Let another spelling name an item.

    Returns the stand-in that kept the callout while nobody could read it, if there was
    one: what asked for it asks for the item from now on. Errors: `catalog.alias_taken`.
    """
    row, made = Callout.objects.select_related("item").get_or_create(
        text=spelled(text), defaults={"item": item}
    )
    if made or row.item_id == item.pk:
        return None
    if row.item.recognised:
        raise Refused(
            "catalog.alias_taken",
            f"{text} already names {row.item.words}.",
            {"callout": text, "item": row.item_id},
        )
    stand_in = row.item
    row.item = item
    row.save(update_fields=["item"])
    return stand_in


def weigh_item(*, item: Item, piece_mass_mg: Decimal) -> None:
    """Keep the piece mass a counted sample gave. Errors: `catalog.mass`."""
    if not 0 < piece_mass_mg < 10_000_000:
        raise Refused(
            "catalog.mass", "A piece cannot weigh that: check the count and the grams."
        )
    Item.objects.filter(pk=item.pk).update(
        piece_mass_mg=piece_mass_mg.quantize(Decimal("0.01")), mass_is_weighed=True
    )


def _item_of(reading: callouts.Reading) -> Item:
    facts = facts_read(reading)
    key = facts.pop("key")
    known = item_with_key(key)
    if known is None:
        known, _made = Item.objects.get_or_create(key=key, defaults=as_called(facts))
    return known


def facts_read(reading: callouts.Reading) -> dict[str, Any]:
    """An item's own fields, as a callout says them."""
    weight = mass.piece_mass_mg(reading)
    return {
        "key": reading.key,
        "kind": reading.kind,
        "words": reading.words,
        "callout": reading.callout,
        "size": sizes.print_size(reading.diameter_in) if reading.diameter_in else "",
        "head": reading.head,
        "alloy": reading.alloy,
        "diameter_in": _decimal(reading.diameter_in),
        "length_in": _decimal(reading.length_in),
        "spoilage_class": callouts.rivet_class(reading),
        "piece_mass_mg": None if weight is None else Decimal(str(round(weight, 2))),
    }


def as_called(facts: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of what a callout names, in the shop's wording."""
    return {**facts, "words": sizes.said(facts["words"], how_lengths_are_said())}


def facts_described(what: Description, alias: str = "") -> dict[str, Any]:
    """An item's own fields, as kind, size and form say them."""
    return {
        "key": what.key,
        "kind": what.kind,
        "words": what.words,
        "callout": alias,
        "size": what.size,
        "form": what.form,
        "unit": what.unit,
        "traits": dict(what.traits),
        "diameter_in": _drill_inches(what.size),
    }


def _unread(text: str) -> Item:
    return Item.objects.get_or_create(
        key=f"unread:{spelled(text)}",
        defaults={
            "kind": "other",
            "words": text.strip()[:120],
            "callout": text.strip()[:120],
            "recognised": False,
        },
    )[0]


def _decimal(value: Fraction | None) -> Decimal | None:
    if value is None:
        return None
    return (Decimal(value.numerator) / Decimal(value.denominator)).quantize(
        Decimal("0.00001")
    )


def _drill_inches(size: str) -> Decimal | None:
    try:
        return _decimal(Fraction(drills.drill(size).diameter_in)) if size else None
    except Refused:
        return None
