"""Importing the opening stock: bins, what they hold, who sells it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.models import Item
from inventory.catalog.queries import item_meant
from inventory.errors import Refused
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import change_bin, lot_of, open_bin
from inventory.ledger.actions.posting import Ask
from inventory.ledger.queries import Bin, bins, opening_of
from inventory.ledger.rules import ABOUT_SHARE, OPENING
from inventory.ordering.actions.placing import offer, supplier_called
from inventory.ordering.models import Offer
from inventory.ordering.rules.lists import COLUMNS, LIST, StockLine, parse
from inventory.people.models import User
from inventory.sheets import NOTHING_TOLD, Table, Told, look
from inventory.sheets import known as all_known


@dataclass(frozen=True)
class StockPreview:
    """What a stock list would do: bad rows, changes in words, and its good rows."""

    file_name: str
    bad: Sequence[tuple[int, str]]
    changes: Sequence[str]
    lines: Sequence[StockLine]
    first: bool
    table: Table


def preview(*, name: str, data: bytes, told: Told = NOTHING_TOLD) -> StockPreview:
    """Read a stock list and compare it with the shop. Nothing is written."""
    table = look(name, data, LIST, told)
    good, bad = parse(table.rows)
    known = {bin.number: bin for bin in bins()}
    taken = [row.bin for row in good if row.bin is not None]
    numbered = _numbered(good, known, max([0, *known, *taken]))
    changes: list[str] = []
    kept: list[StockLine] = []
    for row in numbered:
        try:
            changes += _changes(row, known.get(row.bin or 0))
        except Refused as error:
            bad.append((row.line, error.sentence))
            continue
        kept.append(row)
    return StockPreview(name, sorted(bad), changes, kept, not known, table)


def apply(
    *, found: StockPreview, by: User, now: datetime, good_rows_only: bool = False
) -> int:
    """Make the shop's bins what the list says; returns the number of changes.

    A bin whose opening was imported before is corrected by the difference, so pulls
    made since then stand. Errors: `stock.bad_rows`.
    """
    all_known(found.file_name, found.table, COLUMNS)
    if found.bad and not good_rows_only:
        raise Refused(
            "stock.bad_rows",
            f"{len(found.bad)} rows cannot be taken: mend them and import again. "
            "Nothing was imported.",
            {"rows": [list(row) for row in found.bad]},
        )
    if not found.changes:
        return 0
    with transaction.atomic():
        known = {bin.number: bin for bin in bins()}
        for row in found.lines:
            _write(row, known.get(row.bin or 0), Ask(by=by, now=now, reason=OPENING))
    return len(found.changes)


def _numbered(
    rows: Sequence[StockLine], known: dict[int, Bin], most: int
) -> list[StockLine]:
    """Rows without a bin number: the item's first bin, else the next free number."""
    by_item: dict[int, int] = {}
    for number, bin in sorted(known.items(), reverse=True):
        by_item[bin.item_id] = number
    named = {row.bin for row in rows}
    found = []
    for row in rows:
        if row.bin is not None:
            found.append(row)
            continue
        item = _known_item(row)
        free = by_item.get(item.pk) if item else None
        if free is None or free in named:
            most += 1
            free = most
        named.add(free)
        found.append(replace(row, bin=free))
    return found


def _known_item(row: StockLine) -> Item | None:
    if row.what is None:
        return item_meant(row.callout)
    return Item.objects.filter(key=row.what.key).first()


def _item(row: StockLine) -> Item:
    if row.what is None:
        return item_for_callout(text=row.callout)
    return item_described(what=row.what, alias=row.callout)


def _changes(row: StockLine, bin: Bin | None) -> list[str]:
    label = row.callout or (row.what.words if row.what else "")
    if bin is None:
        return [f"new bin {row.bin}: {row.quantity:,} of {label}"]
    item = _known_item(row)
    if item is None or item.pk != bin.item_id:
        raise Refused(
            "stock.other_item",
            f"Bin {row.bin} holds {bin.item.words}, not {label}: give the row another "
            "bin number.",
        )
    found = []
    before = opening_of(bin, OPENING) or 0
    if before != row.quantity:
        found.append(f"bin {row.bin}: opening {before:,} becomes {row.quantity:,}")
    if (row.spot and row.spot != bin.spot) or (
        row.keep_level is not None and row.keep_level != bin.keep_level
    ):
        found.append(f"bin {row.bin}: spot or keep level")
    if row.supplier and not _offered(row, item):
        found.append(f"bin {row.bin}: bought from {row.supplier}")
    if row.lot and not item.lots.filter(name=row.lot).exists():
        found.append(f"bin {row.bin}: lot {row.lot}")
    return found


def _offered(row: StockLine, item: Item) -> bool:
    return Offer.objects.filter(
        item=item,
        supplier__name=row.supplier,
        pack=row.pack,
        lead_days=row.lead_days,
    ).exists()


def _write(row: StockLine, bin: Bin | None, ask: Ask) -> None:
    item = _item(row)
    if row.about:
        ask = replace(ask, doubt=Decimal(str(round(row.quantity * ABOUT_SHARE, 2))))
    lot = None
    if row.lot:
        lot = lot_of(item=item, name=row.lot, expires_on=row.expires)
    if bin is None:
        bin = open_bin(
            item=item,
            by=ask.by,
            number=row.bin,
            spot=row.spot,
            keep_level=row.keep_level,
        )
        verbs.count(bin=bin, counted=row.quantity, ask=ask, lot=lot)
    else:
        change = row.quantity - (opening_of(bin, OPENING) or 0)
        if change:
            verbs.adjust(bin=bin, change=change, ask=ask, lot=lot)
        change_bin(
            bin=bin,
            by=ask.by,
            spot=row.spot or bin.spot,
            keep_level=bin.keep_level if row.keep_level is None else row.keep_level,
        )
    if row.supplier:
        supplier = supplier_called(name=row.supplier, lead_days=row.lead_days)
        offer(item=item, supplier=supplier, pack=row.pack, lead_days=row.lead_days)
