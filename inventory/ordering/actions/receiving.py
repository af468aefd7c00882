"""What arrived: in part, over or short, by count or by weight, with its lot."""

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from django.db import transaction

from inventory.catalog.actions import weigh_item
from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import lot_of
from inventory.ledger.actions.posting import Ask, Done
from inventory.ledger.actions.undoing import undo
from inventory.ledger.queries import Bin, act_of_scan
from inventory.ledger.queries.standing import stands
from inventory.ledger.rules import Verb
from inventory.ordering.models import OrderLine, Receipt, Supplier
from inventory.ordering.queries import line_numbered, ordered_pieces
from inventory.ordering.queries.usual import checked_likely
from inventory.ordering.rules.lists import pieces_by_weight


@dataclass(frozen=True)
class WeighedDelivery:
    """A delivery by weight: grams in all, and a counted sample where there is one."""

    grams: Decimal
    sample_pieces: int | None = None
    sample_grams: Decimal | None = None


@dataclass(frozen=True)
class Papers:
    """What came with the goods."""

    lot: str = ""
    paper: str = ""
    expires_on: date | None = None


def receive(  # noqa: PLR0913 - what arrived, where, of which line, with what papers
    *,
    bin: Bin,
    supplier: Supplier,
    ask: Ask,
    pieces: int | WeighedDelivery,
    line: OrderLine | None = None,
    papers: Papers = Papers(),
    closes: bool = False,
    sure: bool = True,
) -> tuple[Done, Receipt]:
    """Put a delivery into a bin, for an order line or without one.

    `closes` says that no more will come of the line; without `sure` an unlikely
    quantity is asked about. Sending the same scan id again receives once.
    Errors: `supply.other_item`, `supply.complete`, `supply.sample`, `ledger.*`.
    """
    _same_item(bin, line)
    if line is not None and not sure and not act_of_scan(ask.scan_id or ""):
        _not_complete(line)
    with transaction.atomic():
        quantity = _pieces(bin, pieces, ask)
        checked_likely(
            verb=Verb.RECEIVE,
            bin=bin,
            quantity=quantity,
            sure=sure,
            scan_id=ask.scan_id,
        )
        lot = None
        if papers.lot:
            lot = lot_of(
                item=bin.item,
                name=papers.lot,
                paper=papers.paper,
                expires_on=papers.expires_on,
            )
        done = verbs.receive(
            bin=bin, quantity=quantity, supplier=supplier.place, ask=ask, lot=lot
        )
        if done.repeated:
            return done, Receipt.objects.get(act=done.act)
        receipt = Receipt.objects.create(
            line=line,
            act=done.act,
            pieces=quantity,
            closes=closes,
            guessed_grams=_guessed(bin, pieces),
        )
    return done, receipt


def _guessed(bin: Bin, given: int | WeighedDelivery) -> Decimal | None:
    """What was weighed, where only a guess says how many pieces that is."""
    is_known = isinstance(given, int) or given.sample_pieces or bin.item.mass_is_weighed
    return None if isinstance(given, int) or is_known else given.grams


def weigh(*, item: Item, grams: Decimal, pieces: int, ask: Ask) -> list[str]:
    """Keep what a counted sample says of one piece; what came by a guess of it is put
    right, each delivery taken back and received again on its own day.

    Returns a sentence for each that changed. Errors: `catalog.mass`.
    """
    with transaction.atomic():
        weigh_item(item=item, piece_mass_mg=grams * 1000 / pieces)
        item.refresh_from_db()
        guessed = Receipt.objects.exclude(guessed_grams=None).filter(
            stands("act"), act__bin__item=item
        )
        rows = guessed.select_related("act__bin", "act__by", "line").order_by("pk")
        return [said for row in rows for said in _again(row, item, ask)]


def _again(row: Receipt, item: Item, ask: Ask) -> list[str]:
    """A delivery by a guess of the piece's mass, received again by the mass itself."""
    grams, was = row.guessed_grams or Decimal(0), row.act
    bin, movement = was.bin, was.told_by
    pieces = pieces_by_weight(grams, None, None, item.piece_mass_mg)
    Receipt.objects.filter(pk=row.pk).update(guessed_grams=None)
    if pieces == row.pieces or bin is None or movement is None or not pieces:
        return []
    undo(act=was, ask=replace(ask, scan_id=None, reason="its pieces were weighed"))
    done = verbs.receive(
        bin=bin,
        quantity=pieces,
        supplier=movement.source,
        lot=movement.lot,
        ask=Ask(
            by=was.by,
            now=was.at,
            reason=f"{grams.normalize():f} g, weighed anew: {row.pieces:,} were guessed",
            late=True,
        ),
    )
    Receipt.objects.create(
        line=row.line, act=done.act, pieces=pieces, closes=row.closes
    )
    return [f"{bin}: {row.pieces:,} received by a guess are {pieces:,}."]


def _same_item(bin: Bin, line: OrderLine | None) -> None:
    if line is not None and line.item_id != bin.item_id:
        raise Refused(
            "supply.other_item",
            f"The order line is {line.item.words}; {bin} holds {bin.item.words}. "
            "Nothing was received: choose the right bin.",
            {"line": line.pk, "bin": bin.pk},
        )


def _not_complete(line: OrderLine) -> None:
    row = line_numbered(line.pk)
    ordered = ordered_pieces(row)
    if ordered and row.got >= ordered:
        raise Refused(
            "supply.complete",
            f"All {ordered:,} of this line came already. Did it come twice? Say that it is "
            "right, and it is booked as over; or take the first one back on the order's "
            "page. Nothing was received.",
            {"line": line.pk, "got": row.got},
        )


def _pieces(bin: Bin, given: int | WeighedDelivery, ask: Ask) -> int:
    if not isinstance(given, WeighedDelivery):
        return given
    quantity = pieces_by_weight(
        given.grams, given.sample_pieces, given.sample_grams, bin.item.piece_mass_mg
    )
    if given.sample_pieces and given.sample_grams:
        weigh(
            item=bin.item,
            grams=given.sample_grams,
            pieces=given.sample_pieces,
            ask=ask,
        )
    return quantity
