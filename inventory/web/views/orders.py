"""Orders: what is still to come and what it blocks; placing one."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import (
    require_http_methods,
    require_POST,
    require_safe,
)

from inventory.catalog.actions import item_for_callout
from inventory.errors import Refused
from inventory.ordering import queries as ordering
from inventory.ordering.actions.placing import (
    AskLine,
    drop_line,
    place_order,
    supplier_called,
)
from inventory.ordering.actions.placing import (
    expect as expect_order,
)
from inventory.ordering.models import Order
from inventory.planning.queries import waiting_for
from inventory.web.forms import Expect, NewOrder, OrderRows
from inventory.web.parts import checked, done, here, keep, person, posted

RECENT = 60


@require_safe
def orders(request: HttpRequest) -> HttpResponse:
    """What is missing of every order, with what waits for it; then all orders."""
    rows = ordering.still_owed()
    waiting = waiting_for(row.line.item_id for row in rows)
    today = timezone.localdate()
    return render(
        request,
        "orders.html",
        {
            "missing": [
                (
                    row,
                    waiting.get(row.line.item_id, []),
                    row.line.order.expected_on < today,
                )
                for row in rows
            ],
            "orders": ordering.orders()[:RECENT],
        },
    )


@require_safe
def order(request: HttpRequest, number: int) -> HttpResponse:
    """One order."""
    return render(request, "order.html", _page(ordering.order_numbered(number)))


def _page(row: Order) -> dict[str, Any]:
    owed = {each.line.pk: each for each in ordering.still_owed(row)}
    lines = list(ordering.lines().filter(order=row))
    waiting = waiting_for(line.item_id for line in lines)
    return {
        "order": row,
        "lines": [
            (
                line,
                ordering.ordered_pieces(line),
                owed.get(line.pk),
                waiting.get(line.item_id, []),
            )
            for line in lines
        ],
        "claim_by": ordering.claim_by(row),
        "late": bool(owed) and row.expected_on < timezone.localdate(),
        "form": Expect(initial={"on": row.expected_on}),
    }


@require_http_methods(["GET", "HEAD", "POST"])
def order_new(request: HttpRequest) -> HttpResponse:
    """Note an order that was placed."""
    start = {"placed_on": timezone.localdate()}
    head = NewOrder(posted(request), initial=start)
    first = [{"callout": request.GET.get("callout", ""), "packs": 1}]
    rows = OrderRows(
        posted(request), prefix="line", initial=first if request.GET else None
    )
    page = {
        "form": head,
        "rows": rows,
        "suppliers": ordering.supplier_names(),
    }
    if request.method != "POST":
        return render(request, "order_new.html", page)
    keep(request, "order_new.html", page)
    data = checked(head)
    row = place_order(
        supplier=supplier_called(name=data["supplier"]),
        asks=_asks(rows),
        placed_on=data["placed_on"],
        by=person(request),
        expected_on=data["expected_on"],
        reference=data["reference"],
    )
    said = f"Order {row.number} is noted; it is expected {row.expected_on}."
    return done(request, said, "order", row.number)


def _asks(rows: Any) -> list[AskLine]:
    """The filled lines of a new order. Errors: `web.form`, `supply.empty_order`."""
    if not rows.is_valid() and not any(rows.errors):
        raise Refused("web.form", "The lines did not arrive whole: send them again.")
    filled = [checked(row) for row in rows]
    wanted = [row for row in filled if row.get("callout")]
    if not wanted:
        raise Refused("supply.empty_order", "The order has no lines: add one.")
    return [
        AskLine(
            item=item_for_callout(text=row["callout"]),
            packs=row["packs"] or 0,
            pack_pieces=row["pack_pieces"],
            pack_grams=row["pack_grams"],
        )
        for row in wanted
    ]


@require_POST
def expect(request: HttpRequest, number: int) -> HttpResponse:
    """Another day it is expected."""
    row = ordering.order_numbered(number)
    form = Expect(request.POST)
    keep(request, "order.html", {**_page(row), "form": form})
    on = checked(form)["on"]
    expect_order(order=row, on=on, by=person(request))
    return done(request, f"Order {number} is expected {on}.", "order", number)


@require_POST
def line_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Stop waiting for the rest of a line."""
    line = here(ordering.line_numbered, pk)
    drop_line(line=line, by=person(request), now=timezone.now())
    said = f"The rest of {line.item.words} is no longer waited for."
    return done(request, said, "order", line.order.number)
