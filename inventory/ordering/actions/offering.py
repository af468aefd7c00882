"""What suppliers sell, at what price and terms: one by one, or as a price list."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.actions.changing import call_also
from inventory.catalog.models import Item
from inventory.catalog.queries import (
    item_meant,
    item_with_key,
    meaning_besides,
    spelled,
)
from inventory.errors import Refused
from inventory.ledger.actions.posting import want_recheck
from inventory.ordering.actions.placing import supplier_called
from inventory.ordering.models import Offer, PriceBreak, Supplier
from inventory.ordering.rules.offers import (
    COLUMNS,
    LIST,
    MOST_MONEY,
    TERMS,
    OfferLine,
    TermsLine,
    parse,
)
from inventory.people.models import User
from inventory.sheets import NOTHING_TOLD, Table, Told, look
from inventory.sheets import known as all_known


@dataclass(frozen=True)
class OfferTerms:
    """What a pack costs: price, breaks, how many there are, how soon, how long good; and
    the supplier's part number."""

    price: Decimal | None
    breaks: tuple[tuple[int, Decimal], ...] = ()
    most_packs: int | None = None
    lead_days: int | None = None
    life_days: int | None = None
    their_number: str = ""


@dataclass(frozen=True)
class OffersPreview:
    """What a price list would do: bad rows, changes in words, and its good rows."""

    bad: Sequence[tuple[int, str]]
    changes: Sequence[str]
    lines: Sequence[TermsLine | OfferLine]
    first: bool
    table: Table


def change_terms(
    *, supplier: Supplier, changes: Mapping[str, object], by: User
) -> None:
    """Change a supplier's terms: lead days, shipping, fee, free from, minimum.

    Errors: `supply.terms`.
    """
    for field, value in changes.items():
        if isinstance(value, Decimal) and not 0 <= value <= MOST_MONEY:
            raise Refused(
                "supply.terms",
                f"{field.replace('_', ' ')}: write an amount from 0 to {MOST_MONEY}.",
            )
        setattr(supplier, field, value)
    supplier.save(update_fields=list(changes))
    for item in supplier.offers.values_list("item_id", flat=True).distinct():
        want_recheck(item)


def price_offer(
    *,
    item: Item,
    supplier: Supplier,
    pack: tuple[int | None, Decimal | None],
    terms: OfferTerms,
    by: User,
) -> Offer:
    """State a pack's price; the same pack again is stated anew.

    `pack` is pieces, or grams. Its part number names the item from now on. Errors:
    `supply.pack`, `catalog.alias_taken`.
    """
    # Nought is no pack: a field left at 0 beside the other says nothing.
    pieces, grams = pack[0] or None, pack[1] or None
    if (pieces is None) == (grams is None):
        raise Refused("supply.pack", "Key the pieces of a pack, or its grams.")
    with transaction.atomic():
        row, _made = Offer.objects.update_or_create(
            item=item,
            supplier=supplier,
            pack=pieces,
            pack_grams=grams,
            defaults={
                "price": terms.price,
                "most_packs": terms.most_packs,
                "lead_days": terms.lead_days,
                "life_days": terms.life_days,
                "their_number": terms.their_number.strip(),
            },
        )
        if row.their_number:
            call_also(item=item, text=row.their_number)
        row.breaks.all().delete()
        for from_packs, price in terms.breaks:
            PriceBreak.objects.create(offer=row, from_packs=from_packs, price=price)
        want_recheck(item.pk)
    return row


def drop_offer(*, offer: Offer, by: User) -> None:
    """The supplier no longer sells this pack."""
    item = offer.item_id
    offer.delete()
    want_recheck(item)


def preview(*, name: str, data: bytes, told: Told = NOTHING_TOLD) -> OffersPreview:
    """Read a price list and compare it with what is noted. Nothing is written."""
    table = look(name, data, LIST, told)
    good, bad = parse(table.rows)
    suppliers = {row.name: row for row in Supplier.objects.all()}
    changes: list[str] = []
    kept: list[TermsLine | OfferLine] = []
    numbers: dict[str, OfferLine] = {}
    for line in good:
        known = suppliers.get(line.supplier)
        if isinstance(line, TermsLine):
            changes += _terms_changes(line, known)
        elif taken := _number_taken(line, numbers):
            bad.append((line.line, taken))
            continue
        else:
            changes += _offer_changes(line, known)
        kept.append(line)
    first = not Offer.objects.exclude(price=None).exists()
    return OffersPreview(sorted(bad), changes, kept, first, table)


def _number_taken(line: OfferLine, numbers: dict[str, OfferLine]) -> str:
    """A sentence where a supplier's part number means something else, here or above."""
    if not line.their_number:
        return ""
    number = spelled(line.their_number)
    above = numbers.setdefault(number, line)
    if above.mark[1] != line.mark[1]:
        return (
            f"Their number '{line.their_number}' stands on line {above.line} for "
            f"{above.label}: one of the two is wrong."
        )
    besides = meaning_besides(line.their_number, _item_of(line), line.callout)
    return besides and (
        f"Their number '{line.their_number}' means {besides} here: leave it empty, or "
        "mend it."
    )


def apply(*, found: OffersPreview, by: User, good_rows_only: bool = False) -> int:
    """Make the offers what the list says; returns the number of changes.

    Errors: `offers.bad_rows`, `catalog.*`.
    """
    all_known("The price list", found.table, COLUMNS)
    if found.bad and not good_rows_only:
        raise Refused(
            "offers.bad_rows",
            f"{len(found.bad)} rows cannot be taken: mend them and import again. "
            "Nothing was imported.",
            {"rows": [list(row) for row in found.bad]},
        )
    if not found.changes:
        return 0
    with transaction.atomic():
        for line in found.lines:
            supplier = supplier_called(name=line.supplier)
            if isinstance(line, TermsLine):
                change_terms(supplier=supplier, changes=_stated(line), by=by)
            else:
                _write(line, supplier, by)
    return len(found.changes)


def _write(line: OfferLine, supplier: Supplier, by: User) -> None:
    item = (
        item_described(what=line.what, alias=line.callout)
        if line.what
        else item_for_callout(text=line.callout)
    )
    price_offer(
        item=item,
        supplier=supplier,
        pack=(line.pack, line.pack_grams),
        terms=_terms(line, _the_same_pack(line, supplier, item)),
        by=by,
    )


def _terms(line: OfferLine, known: Offer | None) -> OfferTerms:
    """What a row states; days and a number that it leaves empty stay as they are."""
    days, number = line.lead_days, line.their_number
    if known is not None:
        days = known.lead_days if days is None else days
        number = number or known.their_number
    return OfferTerms(
        line.price, line.breaks, line.most_packs, days, line.life_days, number
    )


def _stated(line: TermsLine) -> dict[str, object]:
    found = {column: getattr(line, column) for column in ("lead_days", *TERMS)}
    return {column: value for column, value in found.items() if value is not None}


def _terms_changes(line: TermsLine, known: Supplier | None) -> list[str]:
    changed = [
        f"{column.replace('_', ' ')} {value}"
        for column, value in _stated(line).items()
        if known is None or getattr(known, column) != value
    ]
    return [f"{line.supplier}: {', '.join(changed)}"] if changed else []


def _offer_changes(line: OfferLine, known: Supplier | None) -> list[str]:
    item = _item_of(line)
    size = f"{line.pack}" if line.pack else f"{line.pack_grams} g"
    said = f"{line.supplier}: {size} of {line.label}"
    row = known and item and _the_same_pack(line, known, item)
    if not row:
        return [f"{said} at {line.price}"]
    if row.price != line.price:
        return [f"{said}: price {row.price or 'unknown'} becomes {line.price}"]
    breaks = tuple((each.from_packs, each.price) for each in row.breaks.all())
    before = OfferTerms(
        row.price,
        breaks,
        row.most_packs,
        row.lead_days,
        row.life_days,
        row.their_number,
    )
    return [] if before == _terms(line, row) else [f"{said}: other terms"]


def _item_of(line: OfferLine) -> Item | None:
    return item_with_key(line.what.key) if line.what else item_meant(line.callout)


def _the_same_pack(line: OfferLine, supplier: Supplier, item: Item) -> Offer | None:
    return Offer.objects.filter(
        item=item, supplier=supplier, pack=line.pack, pack_grams=line.pack_grams
    ).first()
