"""Orders and receipts."""

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import order_shapes, shapes
from api.parts import ask, body, person, small
from api.views.stock import moved
from inventory.alerts.tasks import wake
from inventory.catalog.actions import item_asked
from inventory.errors import Refused
from inventory.ledger.queries import bin_numbered
from inventory.ordering.actions import placing, receiving
from inventory.ordering.models import Order, OrderLine, Supplier
from inventory.ordering.queries import (
    Owed,
    ReceivedLine,
    line_numbered,
    lines,
    order_numbered,
    orders,
    still_owed,
)
from inventory.ordering.queries.usual import checked_likely_order
from inventory.planning.queries import waiting_for


class OrdersView(APIView):
    """Orders that were placed."""

    @extend_schema(responses=order_shapes.OrderOut(many=True), operation_id="orders")
    def get(self, request: Request) -> Response:
        """The newest two hundred, with what is missing of each."""
        return Response([_order(row) for row in orders()[:200]])

    @extend_schema(
        request=order_shapes.OrderIn,
        responses={201: order_shapes.OrderOut},
        operation_id="place_order",
    )
    def post(self, request: Request) -> Response:
        """Record an order."""
        data = body(order_shapes.OrderIn, request)
        asks = [
            placing.AskLine(
                item=item_asked(text=row["callout"], sure=data.get("sure", False)),
                packs=row["packs"],
                pack_pieces=row.get("pack_pieces"),
                pack_grams=row.get("pack_grams"),
            )
            for row in data["lines"]
        ]
        for each in asks:
            pieces, sure = each.packs * (each.pack_pieces or 0), data.get("sure", False)
            checked_likely_order(item=each.item, pieces=pieces, sure=sure)
        order = placing.place_order(
            supplier=placing.supplier_called(name=data["supplier"]),
            asks=asks,
            placed_on=data.get("placed_on") or timezone.localdate(),
            expected_on=data.get("expected_on"),
            reference=data.get("reference", ""),
            by=person(request),
        )
        wake()
        return Response(_order(order), status=201)


class OneOrderView(APIView):
    """An order by its number."""

    @extend_schema(responses=order_shapes.OrderOut, operation_id="order")
    def get(self, request: Request, number: int) -> Response:
        """It, with what is missing and what that blocks."""
        return Response(_order(order_numbered(small(number))))


class ReceiptsView(APIView):
    """Deliveries."""

    @extend_schema(
        request=order_shapes.ReceiptIn,
        responses={200: shapes.MoveOut, 201: shapes.MoveOut},
        operation_id="receive",
    )
    def post(self, request: Request) -> Response:
        """Put a delivery into a bin; the same id again receives once."""
        data = body(order_shapes.ReceiptIn, request)
        line = _line(data.get("line"))
        done, _receipt = receiving.receive(
            bin=bin_numbered(data["bin"]),
            supplier=_supplier(line, data),
            ask=ask(request, data["id"]),
            pieces=_pieces(data),
            line=line,
            papers=receiving.Papers(
                data.get("lot", ""), data.get("paper", ""), data.get("expires_on")
            ),
            closes=data.get("closes", False),
            sure=data.get("sure", False),
        )
        wake()
        return moved(done)


def _line(pk: int | None) -> OrderLine | None:
    return None if pk is None else line_numbered(pk)


def _supplier(line: OrderLine | None, data: dict[str, Any]) -> Supplier:
    if line is not None:
        return line.order.supplier
    return placing.supplier_called(name=data.get("supplier") or "no order")


def _pieces(data: dict[str, Any]) -> int | receiving.WeighedDelivery:
    if data.get("pieces"):
        return int(data["pieces"])
    if data.get("grams"):
        return receiving.WeighedDelivery(
            data["grams"], data.get("sample_pieces"), data.get("sample_grams")
        )
    raise Refused("supply.quantity", "How much came? Key the pieces, or the grams.")


def _order(order: Order) -> dict[str, Any]:
    owed = {row.line.pk: row for row in still_owed(order)}
    rows = list(lines().filter(order=order).order_by("pk"))
    waiting = waiting_for(row.item_id for row in rows)
    return {
        "number": order.number,
        "code": order.code,
        "supplier": order.supplier.name,
        "reference": order.reference,
        "placed_on": order.placed_on,
        "expected_on": order.expected_on,
        "lines": [_order_line(row, owed.get(row.pk), waiting) for row in rows],
    }


def _order_line(
    row: ReceivedLine, owed: Owed | None, waiting: dict[int, list[str]]
) -> dict[str, Any]:
    return {
        "id": row.pk,
        "item": row.item_id,
        "words": row.item.words,
        "packs": row.packs,
        "pack_pieces": row.pack_pieces,
        "pack_grams": None if row.pack_grams is None else float(row.pack_grams),
        "received": row.got,
        "missing": owed.pieces if owed else 0,
        "blocks": waiting.get(row.item_id, []) if owed else [],
    }
