"""Keeping bins and places: opening one, its spot, its keep level, its lots."""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal

from django.db import IntegrityError, transaction
from django.db.models import Max

from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.ledger import rules
from inventory.ledger.actions.posting import want_recheck
from inventory.ledger.models import Bin, CountAsked, Lot, Place
from inventory.ledger.queries import quantity_in
from inventory.people.actions import hold_numbers
from inventory.people.models import User
from inventory.trade import codes


def open_place(*, kind: str, name: str) -> Place:
    """A place for an assembly, a supplier, or somebody who borrows or lends."""
    if kind in rules.NAMED_ONCE:
        return Place.objects.get_or_create(kind=kind, name=name.strip()[:160])[0]
    return Place.objects.create(kind=kind, name=name.strip()[:160])


def name_place(*, place: Place, name: str) -> None:
    """What an assembly's place is called from now on; what moved there stays."""
    Place.objects.filter(pk=place.pk).update(name=name.strip()[:160])


def note_labelled(*, bins: Iterable[Bin]) -> None:
    """Labels of these bins were made."""
    Bin.objects.filter(pk__in=[bin.pk for bin in bins]).update(labelled=True)


def want_labels(item: int) -> None:
    """An item is called otherwise: the labels of its bins are to be made anew."""
    Bin.objects.filter(item=item).update(labelled=False)


def keep_tare(*, bin: Bin, grams: Decimal) -> None:
    """Keep what the empty container weighs, grams, for the next weighing."""
    Bin.objects.filter(pk=bin.pk).update(tare_g=grams)


def open_bin(
    *,
    item: Item,
    by: User,
    number: int | None = None,
    spot: str = "",
    keep_level: int | None = None,
) -> Bin:
    """A new bin of one item; without a number it takes the next free one.

    Errors: `ledger.bin_taken`, `ledger.bin_number`.
    """
    with transaction.atomic():
        if number is None:
            hold_numbers()
            number = (Bin.objects.aggregate(most=Max("number"))["most"] or 0) + 1
        if not 1 <= number <= codes.LARGEST:
            raise Refused(
                "ledger.bin_number",
                f"Bins are numbered 1 to {codes.LARGEST}: choose such a number.",
            )
        new = _bin(
            number=number, item=item, spot=spot.strip()[:80], keep_level=keep_level
        )
        want_recheck(item.pk)
    return new


def _bin(*, number: int, **facts: object) -> Bin:
    try:
        with transaction.atomic():
            place = Place.objects.create(kind=rules.BIN, name=f"bin {number}")
            return Bin.objects.create(place=place, number=number, **facts)
    except IntegrityError as error:
        raise Refused(
            "ledger.bin_taken",
            f"Bin {number} exists already: choose another number.",
            {"number": number},
        ) from error


def change_bin(*, bin: Bin, by: User, **changes: object) -> Bin:
    """Change a bin's spot or keep level; nothing else of it can change."""
    with transaction.atomic():
        for name, value in changes.items():
            if name not in ("spot", "keep_level"):
                raise Refused("ledger.bin_fixed", f"A bin's {name} cannot change.")
            # The label says where the bin stands.
            if name == "spot" and value != bin.spot:
                bin.labelled = False
            setattr(bin, name, value)
        bin.save(update_fields=[*changes, "labelled"])
        want_recheck(bin.item_id)
    return bin


def retire_bin(*, bin: Bin, now: datetime) -> None:
    """Take an empty bin out of use; its number and its record stay.

    Errors: `ledger.holds` while it holds something by the record.
    """
    with transaction.atomic():
        held = quantity_in(bin)
        if held:
            raise Refused(
                "ledger.holds",
                f"{bin} holds {held:,} by the record: count it, move them, or say that "
                "they are gone. Nothing was changed.",
                {"bin": bin.number, "held": held},
            )
        CountAsked.objects.filter(bin=bin, answered_by=None).delete()
        Bin.objects.filter(pk=bin.pk).update(
            retired_at=now, count_it=False, count_reason=""
        )
        want_recheck(bin.item_id)


def bring_back_bin(*, bin: Bin) -> None:
    """Use a retired bin again, under its old number, for the same item."""
    Bin.objects.filter(pk=bin.pk).update(retired_at=None, labelled=False)
    want_recheck(bin.item_id)


def lot_of(
    *, item: Item, name: str, paper: str = "", expires_on: date | None = None
) -> Lot:
    """The lot of this name, made at first sight; later papers and dates fill gaps."""
    lot, _made = Lot.objects.get_or_create(
        item=item,
        name=name.strip()[:60],
        defaults={"paper": paper.strip()[:60], "expires_on": expires_on},
    )
    if (paper and not lot.paper) or (expires_on and not lot.expires_on):
        lot.paper = lot.paper or paper.strip()[:60]
        lot.expires_on = lot.expires_on or expires_on
        lot.save(update_fields=["paper", "expires_on"])
    return lot
