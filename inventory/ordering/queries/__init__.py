"""Reads of orders: what they still owe, lead times, what a bag means here."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, TypedDict

from django.db.models import Min, Q, QuerySet, Sum
from django.db.models.functions import Coalesce
from django.utils import timezone
from django.utils.timezone import localdate, make_aware
from django_stubs_ext import WithAnnotations

from inventory.catalog.models import Item
from inventory.catalog.queries import item_meant
from inventory.errors import Refused
from inventory.ledger.queries import Act, Bin, bins_of
from inventory.ledger.queries.standing import stands
from inventory.ordering.models import Offer, Order, OrderLine, Receipt, Supplier
from inventory.ordering.rules.bags import CLAIM_DAYS, Bag, bag_of
from inventory.ordering.rules.leads import Due, Lead, lateness, lead_days
from inventory.people.rules import Doing

_FIRST_PARCEL = Min("lines__receipts__act__at", filter=stands("lines__receipts__act"))


class Received(TypedDict):
    """What came of a line, and whether a receipt ended it."""

    got: int
    ended: int


if TYPE_CHECKING:
    ReceivedLine = WithAnnotations[OrderLine, Received]
else:
    ReceivedLine = OrderLine


def lines() -> QuerySet[ReceivedLine, ReceivedLine]:
    """Order lines with the pieces received so far as `got` (corrections taken off)."""
    return OrderLine.objects.select_related("order__supplier__place", "item").annotate(
        got=Coalesce(Sum("receipts__pieces", filter=stands("receipts__act")), 0),
        ended=Coalesce(
            Sum(
                "receipts__pk",
                filter=Q(receipts__closes=True) & stands("receipts__act"),
            ),
            0,
        ),
    )


def line_numbered(pk: int) -> ReceivedLine:
    """Errors: `supply.no_line`."""
    row = lines().filter(pk=pk).first()
    if row is None:
        raise Refused("supply.no_line", f"There is no order line {pk}.")
    return row


def suppliers() -> QuerySet[Supplier]:
    """Every supplier, with what it sells."""
    return Supplier.objects.prefetch_related("offers")


def supplier_names() -> list[str]:
    """What the shop's suppliers are called."""
    return list(Supplier.objects.values_list("name", flat=True))


def supplier_numbered(pk: int) -> Supplier:
    """Errors: `supply.no_supplier`."""
    row = Supplier.objects.filter(pk=pk).first()
    if row is None:
        raise Refused("supply.no_supplier", f"There is no supplier {pk} here.")
    return row


def offers() -> QuerySet[Offer]:
    """What suppliers sell."""
    return Offer.objects.select_related("supplier", "item")


def offer_numbered(pk: int) -> Offer:
    """Errors: `supply.no_offer`."""
    row = offers().filter(pk=pk).first()
    if row is None:
        raise Refused("supply.no_offer", f"There is no offer {pk} here.")
    return row


def ordered_pieces(line: OrderLine) -> int:
    """Pieces a line stands for; a pack by weight counts by the item's piece mass."""
    if line.pack_pieces:
        return line.packs * line.pack_pieces
    mass = line.item.piece_mass_mg
    if mass and line.pack_grams:
        return int(line.packs * line.pack_grams * 1000 / mass)
    return 0


@dataclass(frozen=True)
class Owed:
    """What a line still owes: pieces (0 when its packs go by unknown weight)."""

    line: OrderLine
    ordered: int
    got: int

    @property
    def pieces(self) -> int:
        """Pieces still to come."""
        return max(0, self.ordered - self.got)


def lines_of(number: int, *, complete: bool) -> list[Owed]:
    """What an order still owes; with `complete` also what has come."""
    order = Order.objects.filter(number=number).first()
    if order is None or not complete:
        return still_owed(order) if order else []
    rows = lines().filter(dropped_at=None, order=order)
    return [Owed(row, ordered_pieces(row), row.got) for row in rows]


def still_owed(
    order: Order | None = None, items: Collection[int] | None = None
) -> list[Owed]:
    """Every line that still owes something, the oldest expectation first."""
    rows = lines().filter(dropped_at=None)
    if order is not None:
        rows = rows.filter(order=order)
    if items is not None:
        rows = rows.filter(item__in=items)
    found = []
    for row in rows.order_by("order__expected_on", "pk"):
        ordered = ordered_pieces(row)
        if not row.ended and (row.got < ordered or (not ordered and not row.got)):
            found.append(Owed(row, ordered, row.got))
    return found


def owed_of(item: int) -> list[Owed]:
    """The lines that still owe something of an item, the oldest expectation first."""
    return still_owed(items=[item])


def how_complete(line: OrderLine) -> str:
    """Whether a line got more, less or just what was ordered, in a sentence."""
    row = line_numbered(line.pk)
    ordered = ordered_pieces(row)
    if not ordered:
        return "How many were ordered is not known in pieces."
    if row.got == ordered:
        return "The line is complete."
    if row.got > ordered:
        return f"That is {row.got - ordered:,} over."
    return f"That is {ordered - row.got:,} short of {ordered:,}."


def due(today: date) -> list[Due]:
    """Pieces still owed by item; what is overdue is expected today at the earliest."""
    late = lateness(days_late(today))
    return [
        Due(row.line.item_id, row.pieces, max(today, row.line.order.expected_on), late)
        for row in still_owed()
        if row.pieces
    ]


def days_late(today: date) -> list[int]:
    """Each order's days from its expected day to its first parcel, or until today."""
    came = {
        row["pk"]: timezone.localdate(row["came"])
        for row in Order.objects.annotate(came=_FIRST_PARCEL)
        .exclude(came=None)
        .values("pk", "came")
    }
    waited = {row.line.order_id: today for row in overdue(today)}
    return [
        (day - order.expected_on).days
        for order in Order.objects.filter(pk__in={**waited, **came})
        for day in [came.get(order.pk) or waited[order.pk]]
    ]


def leads(items: Iterable[int] | None = None) -> dict[int, Lead]:
    """The shortest lead time of each item that has one, in days.

    What is stated of the item itself stands; what a supplier states of all its goods
    counts until enough of its own parcels have come.
    """
    learned = days_taken()
    rows = Offer.objects.select_related("supplier")
    if items is not None:
        rows = rows.filter(item__in=list(items))
    found: dict[int, int] = {}
    for row in rows:
        usual = lead_days(row.supplier.lead_days, learned.get(row.supplier_id, []))
        days = row.lead_days if row.lead_days is not None else usual
        if days is not None:
            found[row.item_id] = min(days, found.get(row.item_id, days))
    return {item: Lead(days, False) for item, days in found.items()}


def days_taken() -> dict[int, list[int]]:
    """By supplier: days from placing an order to its first parcel, the latest last."""
    rows = Order.objects.annotate(came=_FIRST_PARCEL).exclude(came=None)
    rows = rows.order_by("placed_on", "pk")
    found: dict[int, list[int]] = defaultdict(list)
    for supplier, placed, came in rows.values_list("supplier_id", "placed_on", "came"):
        found[supplier].append(max(0, (timezone.localdate(came) - placed).days))
    return dict(found)


def orders() -> QuerySet[Order]:
    """Orders with their suppliers, the newest first."""
    return Order.objects.select_related("supplier").prefetch_related("lines__item")


def orders_around(number: int, newer: int, older: int) -> list[Order]:
    """Orders whose numbers come after and before one, the newest first."""
    rows = Order.objects.select_related("supplier").order_by("-number")
    after = list(rows.filter(number__gt=number).reverse()[:newer])
    return [*reversed(after), *rows.filter(number__lte=number)[:older]]


def doings(since: datetime, until: datetime, most: int) -> list[Doing]:
    """Orders placed in a span, and lines nobody waits for any more since then.

    An order is of a day, and stands at its beginning.
    """
    placed = Order.objects.select_related("by", "supplier").order_by("-pk")
    days = {"placed_on__gte": localdate(since), "placed_on__lte": localdate(until)}
    dropped = OrderLine.objects.select_related("dropped_by", "order", "item")
    span = {"dropped_at__gte": since, "dropped_at__lt": until}
    noted = [
        Doing(
            make_aware(datetime.combine(row.placed_on, time())),
            str(row.by),
            row.by_id,
            f"order {row.number} placed with {row.supplier.name}",
            "order",
            row.number,
        )
        for row in placed.filter(**days)[:most]
    ]
    return [row for row in noted if since <= row.at < until] + [
        Doing(
            row.dropped_at,
            str(row.dropped_by),
            row.dropped_by.pk,
            f"order {row.order.number}: {row.item.words} is waited for no more",
            "order",
            row.order.number,
        )
        for row in dropped.filter(**span).order_by("-dropped_at")[:most]
        if row.dropped_at and row.dropped_by
    ]


def orders_like(text: str, limit: int) -> list[Order]:
    """Orders of a number, a reference or a supplier, the newest first."""
    match = Q(reference__icontains=text) | Q(supplier__name__icontains=text)
    if text.isascii() and text.isdigit() and len(text) < 9:
        match |= Q(number=int(text))
    return list(orders().filter(match).order_by("-number")[:limit])


def suppliers_like(text: str, limit: int) -> list[Supplier]:
    """Suppliers by their name."""
    return list(Supplier.objects.filter(name__icontains=text).order_by("name")[:limit])


def order_numbered(number: int) -> Order:
    """Errors: `supply.no_order`."""
    row = orders().filter(number=number).first()
    if row is None:
        raise Refused("supply.no_order", f"There is no order {number} here.")
    return row


def line_on(order: int, item: int) -> OrderLine | None:
    """The line of an order for an item: one that still owes something, else any."""
    rows = lines().filter(dropped_at=None, order__number=order, item=item)
    owing = [row.line for row in owed_of(item) if row.line.order.number == order]
    return next(iter([*owing, *rows]), None)


def line_of(act: Act) -> OrderLine | None:
    """The order line that a receipt was of, if any."""
    receipt = Receipt.objects.select_related("line__order").filter(act=act).first()
    return receipt.line if receipt else None


def receipt_acts(order: Order) -> list[int]:
    """The acts by which something of an order came."""
    rows = Receipt.objects.filter(line__order=order)
    return list(rows.values_list("act", flat=True))


def overdue(today: date) -> list[Owed]:
    """Lines whose day has gone by."""
    return [row for row in still_owed() if row.line.order.expected_on < today]


@dataclass(frozen=True)
class BagFound:
    """A bag as the shop knows it: its item, what waits for it, where it goes."""

    bag: Bag
    item: Item | None
    owed: list[Owed]
    bins: list[Bin]

    @property
    def pieces(self) -> int | None:
        """How many, where the codes are sure of it."""
        return self.bag.contents.quantity if self.bag.sure else None


def bag_found(texts: Sequence[str]) -> BagFound:
    """What the codes of one bag mean here: nothing is written.

    An order that the bag names comes first among the lines that wait for its item.
    """
    bag = bag_of(texts, item_meant)
    item = item_meant(bag.part)
    owed = owed_of(item.pk) if item else []
    named = bag.contents.order
    owed.sort(key=lambda row: named not in _names_of(row.line.order) if named else 0)
    found = bins_of([item.pk]) if item else []
    return BagFound(bag, item, owed, found)


def _names_of(order: Order) -> tuple[str, ...]:
    return (str(order.number), order.reference, order.code)


def claim_by(order: Order) -> date | None:
    """The day by which what is missing should be told, once a part has come.

    Counted from the first receipt; a usual term, the supplier's own decides.
    """
    came = Receipt.objects.filter(stands("act"), line__order=order)
    first = came.aggregate(at=Min("act__at"))["at"]
    if first is None or not still_owed(order):
        return None
    return timezone.localdate(first) + timedelta(days=CLAIM_DAYS)
