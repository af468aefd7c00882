"""What arrived: in part, over or short, by count or by weight, with its lot."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from inventory.catalog.actions import weigh_item
from inventory.errors import Refused
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import lot_of
from inventory.ledger.actions.posting import Ask, Done
from inventory.ledger.queries import Bin, act_of_scan
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
        quantity = _pieces(bin, pieces)
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
            line=line, act=done.act, pieces=quantity, closes=closes
        )
    return done, receipt


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
            f"All {ordered} of this line came already. Did it come twice? Say that it is "
            "right, and it is booked as over; or take the first one back on the order's "
            "page. Nothing was received.",
            {"line": line.pk, "got": row.got},
        )


def _pieces(bin: Bin, given: int | WeighedDelivery) -> int:
    if not isinstance(given, WeighedDelivery):
        return given
    quantity = pieces_by_weight(
        given.grams, given.sample_pieces, given.sample_grams, bin.item.piece_mass_mg
    )
    if given.sample_pieces and given.sample_grams:
        weigh_item(
            item=bin.item,
            piece_mass_mg=given.sample_grams * 1000 / given.sample_pieces,
        )
    return quantity
