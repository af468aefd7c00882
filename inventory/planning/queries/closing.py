"""Reads before and after an assembly is closed: what is over, mixed up, still inside."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.timezone import localdate

from inventory.catalog.models import Item
from inventory.ledger.queries import Lot, quantities_at, scrapped_from, work_at
from inventory.ledger.queries.lots import lots_at, papers_of
from inventory.ledger.queries.standing import stands
from inventory.ledger.rules import Verb
from inventory.people.models import User
from inventory.planning.models import Assembly
from inventory.planning.queries.asking import asked_by
from inventory.planning.rules import closing
from inventory.trade.likeness import are_alike, difference


@dataclass(frozen=True)
class LookedAt:
    """What stands before a person who is about to close an assembly."""

    rows: list[closing.Used]
    swaps: list[closing.Swap]

    @property
    def drawn_or_here(self) -> list[closing.Used]:
        """Without what was asked for once and is nothing now."""
        return [row for row in self.rows if row.need or row.here]

    @property
    def tools(self) -> list[closing.Used]:
        """What is still held there and must come back, or be accounted for."""
        return [row for row in self.rows if row.tool and row.here]

    @property
    def surplus(self) -> list[closing.Used]:
        """Fasteners beyond the drawing's count: to return, or spoiled."""
        return [row for row in self.rows if not row.tool and row.over]

    @property
    def missing(self) -> list[closing.Used]:
        """Fasteners that the drawing asks for and nobody pulled."""
        return [row for row in self.rows if not row.tool and row.under]


def close_up(assembly: Assembly) -> LookedAt:
    """What is over, under and still inside an assembly, and which tins look mixed."""
    asks = {row.item.pk: row for row in asked_by(assembly)}
    there = quantities_at([assembly.place_id]) if assembly.place_id else {}
    items = {pk: row.item for pk, row in asks.items()}
    others = {item for _place, item in there} - set(items)
    items |= Item.objects.in_bulk(others)
    rows = [
        closing.Used(
            item=pk,
            words=item.title if item.unit == "pcs" else item.measured,
            need=asks[pk].need if pk in asks else 0,
            here=asks[pk].pulled
            if pk in asks
            else there.get((assembly.place_id or 0, pk), 0),
            tool=not item.sort.consumed,
        )
        for pk, item in items.items()
    ]

    def differs(one: int, other: int) -> str:
        alike = are_alike(items[one], items[other])
        return difference(items[one], items[other]) if alike else ""

    return LookedAt(rows, closing.swaps(rows, differs))


@dataclass(frozen=True)
class Happened:
    """A closing or a reopening; `closing` is the key of what was recorded at it."""

    at: datetime
    by: User
    note: str
    closing: int | None


def history_of(assembly: Assembly) -> list[Happened]:
    """Every closing and reopening of an assembly, the newest first."""
    found = [
        *(
            Happened(row.at, row.by, row.note, row.pk)
            for row in assembly.close_ups.select_related("by")
        ),
        *(
            Happened(row.at, row.by, row.note, None)
            for row in assembly.reopenings.select_related("by")
        ),
    ]
    return sorted(found, key=lambda row: row.at, reverse=True)


def record_of(assembly: Assembly) -> dict[str, Any]:
    """What went into an assembly, as plain data for its close-up."""
    looked = close_up(assembly)
    place = assembly.place
    lots = lots_at(place) if place else {}
    acts = work_at(place) if place else []
    bins_of: dict[int, set[int]] = defaultdict(set)
    for act in acts:
        if act.bin is not None and act.verb == Verb.PULL:
            bins_of[act.bin.item_id].add(act.bin.number)
    scrapped = scrapped_from([place.pk] if place else [])
    return {
        "items": [
            {
                "words": row.words,
                "need": row.need,
                "used": row.here,
                "spoiled": scrapped.get((assembly.place_id or 0, row.item), 0),
                "bins": sorted(bins_of[row.item]),
                "lots": [_lot_words(lot) for lot in lots.get(row.item, [])],
            }
            for row in looked.rows
            if not row.tool
        ],
        "stood_in": [
            f"{row.quantity:,} of {row.used.title} for {row.needed.title}: "
            f"{row.get_why_display()}"
            + (f"; allowed: {row.approval}" if row.approval else "")
            for row in assembly.substitutions.filter(stands("act")).select_related(
                "used", "needed"
            )
        ],
        "papers": [
            {"photograph": each.pk, "words": f"{each.lot.item.title}, {each.lot}"}
            for each in papers_of({lot for rows in lots.values() for lot in rows})
            if each.lot
        ],
        "mixed": [swap.sentence for swap in looked.swaps],
        "people": sorted({str(act.by) for act in acts}),
        "days": sorted({localdate(act.at).isoformat() for act in acts}),
    }


def _lot_words(lot: Lot) -> str:
    return f"{lot.name} ({lot.paper})" if lot.paper else lot.name
