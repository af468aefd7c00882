"""Every list of the shop as rows to keep: what a spreadsheet or another program takes.

Stock and prices have the columns that their imports read.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from inventory.catalog.models import Item
from inventory.catalog.queries import search
from inventory.catalog.rules import KINDS, TRAITS
from inventory.ledger import queries as ledger
from inventory.ordering import queries as ordering
from inventory.ordering.models import Offer, Supplier
from inventory.ordering.rules import lists as stock_lists
from inventory.ordering.rules import offers as price_lists
from inventory.trade.callouts import readings

Cells = Sequence[object]
PAGE = 1_000
# What an import of stock takes beside a bin: where it came from.
CAME_FROM = {"supplier", "lead_days", "pack", "lot", "expires"}


@dataclass(frozen=True)
class Listed:
    """A list: its columns, and its rows as they are asked for."""

    header: tuple[str, ...]
    rows: Callable[[], Iterator[Cells]]


def _local(at: datetime | None) -> datetime | None:
    """By the shop's clock, to the second, as a workbook holds it."""
    return at and timezone.localtime(at).replace(tzinfo=None, microsecond=0)


def _what(item: Item) -> dict[str, object]:
    """An item as a list asks for it: by its callout alone, where that says all."""
    kind = KINDS[item.kind]
    if item.callout and (readings(item.callout).found or not item.recognised):
        return {"callout": item.callout}
    return {
        "callout": item.callout,
        "kind": kind.word,
        "size": item.size,
        "form": item.form,
        "name": "" if kind.sized else item.words,
        "unit": item.unit,
        **{each: item.traits.get(each, "") for each in TRAITS},
    }


def _stock() -> Iterator[Cells]:
    last = 0
    while page := ledger.bins_after(last, PAGE):
        there = ledger.quantities_at(bin.place_id for bin in page)
        for bin in page:
            cells = _what(bin.item) | {
                "bin": bin.number,
                "spot": bin.spot,
                "quantity": there.get((bin.place_id, bin.item_id), 0),
                "keep_level": bin.keep_level,
            }
            row = [cells.get(each, "") for each in STOCK]
            yield (*row, bin.item.words, _local(bin.counted_at))
        last = page[-1].number


def _items() -> Iterator[Cells]:
    there = ledger.in_bins()
    for item in search():
        kind, unit = KINDS[item.kind].word, item.unit
        yield item.callout, item.words, kind, there.get(item.pk, 0), unit


def _movements() -> Iterator[Cells]:
    last = 0
    while page := ledger.movements_after(last, PAGE):
        for row in page:
            act, lot = row.act, row.lot
            yield (
                row.pk,
                _local(act.at),
                str(act.by),
                act.get_verb_display(),
                row.item.callout,
                row.item.words,
                row.quantity,
                row.source.name,
                row.target.name,
                lot.name if lot else "",
                act.reason,
                row.corrects_id,
            )
        last = page[-1].pk


def _orders() -> Iterator[Cells]:
    for line in ordering.lines().order_by("order__number", "pk"):
        order = line.order
        yield (
            order.number,
            order.reference,
            order.supplier.name,
            order.placed_on,
            order.expected_on,
            line.item.callout,
            line.item.words,
            line.packs,
            line.pack_pieces or f"{line.pack_grams} g",
            ordering.ordered_pieces(line) or "",
            line.got,
            _local(line.dropped_at),
        )


def _prices() -> Iterator[Cells]:
    for row in ordering.suppliers():
        yield _terms(row)
    for offer in ordering.offers().prefetch_related("breaks"):
        yield _offer(offer)


def _terms(row: Supplier) -> Cells:
    cells = {"supplier": row.name, "lead_days": row.lead_days}
    cells |= {each: getattr(row, each) for each in price_lists.TERMS}
    return [cells.get(each, "") for each in price_lists.COLUMNS]


def _offer(offer: Offer) -> Cells:
    cells = _what(offer.item) | {
        "supplier": offer.supplier.name,
        "pack": offer.pack or (f"{offer.pack_grams} g" if offer.pack_grams else ""),
        "price": offer.price,
        **{each: getattr(offer, each) for each in price_lists.MORE},
    }
    for names, each in zip(price_lists.BREAKS, offer.breaks.all(), strict=False):
        cells |= dict(zip(names, (each.from_packs, each.price), strict=True))
    return [cells.get(each, "") for each in price_lists.COLUMNS]


STOCK = tuple(each for each in stock_lists.COLUMNS if each not in CAME_FROM)
LISTS = {
    "stock": Listed((*STOCK, "words", "counted"), _stock),
    "items": Listed(("callout", "words", "kind", "in_bins", "unit"), _items),
    "movements": Listed(
        (
            "number",
            "at",
            "by",
            "did",
            "callout",
            "words",
            "quantity",
            "from",
            "to",
            "lot",
            "reason",
            "corrects",
        ),
        _movements,
    ),
    "orders": Listed(
        (
            "order",
            "reference",
            "supplier",
            "placed_on",
            "expected_on",
            "callout",
            "words",
            "packs",
            "pack",
            "pieces",
            "came",
            "taken_back",
        ),
        _orders,
    ),
    "prices": Listed(price_lists.COLUMNS, _prices),
}
