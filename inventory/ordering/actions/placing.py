"""Suppliers, offers and orders."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db import IntegrityError, transaction
from django.db.models import Max

from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.ledger.actions.bins import open_place
from inventory.ledger.actions.posting import want_recheck
from inventory.ledger.queries.standing import stands
from inventory.ordering.models import Offer, Order, OrderLine, Receipt, Supplier
from inventory.people.actions import hold_numbers
from inventory.people.models import User
from inventory.people.queries import shop


@dataclass(frozen=True)
class AskLine:
    """A line to order: packs of so many pieces, or of so many grams."""

    item: Item
    packs: int
    pack_pieces: int | None = None
    pack_grams: Decimal | None = None


def supplier_called(*, name: str, lead_days: int | None = None) -> Supplier:
    """The supplier of this name, made at first sight. Errors: `supply.supplier`."""
    name = " ".join(name.split())[:80]
    if not name:
        raise Refused("supply.supplier", "Who delivers? Name the supplier.")
    known = Supplier.objects.filter(name=name)
    row = known.first()
    if row is not None:
        return row
    try:
        with transaction.atomic():
            place = open_place(kind="supplier", name=name)
            return Supplier.objects.create(name=name, place=place, lead_days=lead_days)
    except IntegrityError:
        return known.get()  # somebody else named it meanwhile


def offer(
    *, item: Item, supplier: Supplier, pack: int | None, lead_days: int | None
) -> Offer:
    """State that a supplier sells an item, and how soon; prices are stated elsewhere.

    The offer of the same pack is stated anew; else one that has no price yet is; else
    it is another pack.
    """
    mine = Offer.objects.filter(item=item, supplier=supplier)
    row = (
        mine.filter(pack=pack, pack_grams=None).first()
        or mine.filter(price=None).first()
        or Offer(item=item, supplier=supplier)
    )
    row.pack, row.pack_grams, row.lead_days = pack, None, lead_days
    row.save()
    want_recheck(item.pk)
    return row


def place_order(
    *,
    supplier: Supplier,
    asks: Sequence[AskLine],
    placed_on: date,
    by: User,
    expected_on: date | None = None,
    reference: str = "",
) -> Order:
    """Record an order that was placed. Errors: `supply.empty_order`, `supply.pack`."""
    if not asks:
        raise Refused("supply.empty_order", "The order has no lines: add one.")
    for ask in asks:
        _checked(ask)
    if expected_on is None:
        days = supplier.lead_days
        expected_on = placed_on + timedelta(
            days=shop().lead_days if days is None else days
        )
    if expected_on < placed_on:
        raise Refused(
            "supply.dates", "It is expected before it was placed: check the two dates."
        )
    with transaction.atomic():
        hold_numbers()
        number = (Order.objects.aggregate(most=Max("number"))["most"] or 0) + 1
        order = Order.objects.create(
            number=number,
            supplier=supplier,
            reference=reference.strip()[:60],
            placed_on=placed_on,
            expected_on=expected_on,
            by=by,
        )
        for ask in asks:
            OrderLine.objects.create(order=order, **vars(ask))
            want_recheck(ask.item.pk)
    return order


def _checked(ask: AskLine) -> None:
    if not 1 <= ask.packs <= 10_000:
        raise Refused("supply.pack", "Order 1 to 10,000 packs a line.")
    if not (ask.pack_pieces and ask.pack_pieces > 0) and not (
        ask.pack_grams and ask.pack_grams > 0
    ):
        raise Refused(
            "supply.pack",
            f"How many pieces (or grams) has a pack of {ask.item.words}? Key one.",
        )


def expect(*, order: Order, on: date, by: User) -> None:
    """Change the day an order is expected. Errors: `supply.dates`."""
    if on < order.placed_on:
        raise Refused("supply.dates", "That day is before the order was placed.")
    Order.objects.filter(pk=order.pk).update(expected_on=on)
    order.expected_on = on
    for item in order.lines.values_list("item_id", flat=True):
        want_recheck(item)


def drop_line(*, line: OrderLine, by: User, now: datetime) -> None:
    """Stop waiting for the rest of a line (bought elsewhere, cancelled)."""
    OrderLine.objects.filter(pk=line.pk, dropped_at=None).update(
        dropped_at=now, dropped_by=by
    )
    want_recheck(line.item_id)


def wait_again(*, line: OrderLine, by: User) -> None:
    """Wait for the rest of a line after all."""
    OrderLine.objects.filter(pk=line.pk).update(dropped_at=None, dropped_by=None)
    want_recheck(line.item_id)


def take_order_back(*, order: Order, by: User, now: datetime) -> None:
    """It was never placed: nothing of it is waited for. Errors: `supply.came`."""
    if Receipt.objects.filter(stands("act"), line__order=order).exists():
        raise Refused(
            "supply.came",
            f"Something of order {order.number} came: take that back first, or stop "
            "waiting for the lines that will not come.",
        )
    with transaction.atomic():
        for line in order.lines.all():
            drop_line(line=line, by=by, now=now)


def place_again(*, order: Order, by: User) -> None:
    """It was placed after all: everything of it is waited for."""
    with transaction.atomic():
        for line in order.lines.all():
            wait_again(line=line, by=by)


def add_line(*, order: Order, ask: AskLine, by: User) -> OrderLine:
    """Another line of an order. Errors: `supply.pack`."""
    _checked(ask)
    with transaction.atomic():
        want_recheck(ask.item.pk)
        return OrderLine.objects.create(order=order, **vars(ask))


def change_line(*, line: OrderLine, ask: AskLine, by: User) -> None:
    """Say what was ordered. Errors: `supply.pack`, `supply.came` for another item."""
    _checked(ask)
    came = Receipt.objects.filter(stands("act"), line=line).exists()
    if came and ask.item.pk != line.item_id:
        raise Refused(
            "supply.came",
            f"{line.item.words} came for this line: take that back first, or add a line "
            f"of {ask.item.words}.",
        )
    with transaction.atomic():
        want_recheck(line.item_id)
        want_recheck(ask.item.pk)
        OrderLine.objects.filter(pk=line.pk).update(**vars(ask))
