"""Orders: what is still to come and what it blocks; placing one."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import (
    require_http_methods,
    require_POST,
    require_safe,
)

from inventory import days
from inventory.catalog.actions import item_asked
from inventory.catalog.queries import names_of_things
from inventory.errors import Refused
from inventory.ledger.queries.acts import deeds, these
from inventory.ordering import queries as ordering
from inventory.ordering.actions.placing import (
    AskLine,
    add_line,
    change_line,
    drop_line,
    place_again,
    place_order,
    supplier_called,
    take_order_back,
    wait_again,
)
from inventory.ordering.actions.placing import (
    expect as expect_order,
)
from inventory.ordering.models import Order, OrderLine
from inventory.ordering.queries.shopping import (
    HEADER,
    ShoppingList,
    of_order,
    of_supplier,
)
from inventory.ordering.queries.usual import checked_likely_order
from inventory.planning.queries import waiting_for
from inventory.sheets import csv_text
from inventory.web.beside import beside_order
from inventory.web.forms import Expect, NewOrder, OrderRow, OrderRows
from inventory.web.parts import (
    checked,
    done,
    download,
    here,
    is_sure,
    keep,
    person,
    posted,
)

RECENT = 60
# Parcels of an order that its page shows.
PARCELS = 100


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
    return render(
        request, "order.html", _page(request, ordering.order_numbered(number))
    )


def _page(
    request: HttpRequest,
    row: Order,
    changing: Mapping[int, OrderRow] = MappingProxyType({}),
) -> dict[str, Any]:
    owed = {each.line.pk: each for each in ordering.still_owed(row)}
    lines = list(ordering.lines().filter(order=row))
    waiting = waiting_for(line.item_id for line in lines)
    return {
        "beside": beside_order(row),
        "order": row,
        "lines": [
            (
                line,
                ordering.ordered_pieces(line),
                owed.get(line.pk),
                waiting.get(line.item_id, []),
                changing.get(line.pk) or _line_form(line, initial=_as_asked(line)),
            )
            for line in lines
        ],
        "taken_back": all(line.dropped_at and not line.got for line in lines),
        "new_line": OrderRow(auto_id="new_%s"),
        "things": names_of_things(),
        "claim_by": ordering.claim_by(row),
        "deeds": deeds(
            PARCELS, person(request), where=these(ordering.receipt_acts(row))
        ),
        "waits": bool(owed),
        "late": bool(owed) and row.expected_on < timezone.localdate(),
        "form": Expect(initial={"on": row.expected_on}),
    }


def _line_form(line: OrderLine, **given: Any) -> OrderRow:
    return OrderRow(auto_id=f"line_{line.pk}_%s", **given)


def _as_asked(line: OrderLine) -> dict[str, Any]:
    names = ("packs", "pack_pieces", "pack_grams")
    return {"callout": line.item.callout, **{n: getattr(line, n) for n in names}}


@require_safe
def shopping(request: HttpRequest, number: int) -> HttpResponse:
    """What to ask the supplier for, with their numbers and prices, to print or copy."""
    row = ordering.order_numbered(number)
    page = {"order": row, "list": of_order(row)}
    return render(request, "shopping_list.html", page)


@require_safe
def shopping_csv(request: HttpRequest, number: int) -> HttpResponse:
    """The same as a file."""
    return _as_csv(of_order(ordering.order_numbered(number)), f"order-{number}")


@require_safe
def shopping_all(request: HttpRequest, pk: int) -> HttpResponse:
    """What all orders of a supplier wait for, in one list."""
    found = of_supplier(here(ordering.supplier_numbered, pk))
    return render(request, "shopping_list.html", {"list": found})


@require_safe
def shopping_all_csv(request: HttpRequest, pk: int) -> HttpResponse:
    """The same as a file."""
    found = of_supplier(here(ordering.supplier_numbered, pk))
    return _as_csv(found, f"supplier-{pk}")


def _as_csv(found: ShoppingList, name: str) -> HttpResponse:
    data = csv_text(HEADER, found.rows()).encode()
    return download(data, f"{name}.csv", "text/csv; charset=utf-8")


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
        "things": names_of_things(),
    }
    if request.method != "POST":
        return render(request, "order_new.html", page)
    keep(request, "order_new.html", page)
    data = checked(head)
    row = place_order(
        supplier=supplier_called(name=data["supplier"]),
        asks=_asks(request, rows),
        placed_on=data["placed_on"],
        by=person(request),
        expected_on=data["expected_on"],
        reference=data["reference"],
    )
    said = f"Order {row.number} is noted; it is expected {days.said(row.expected_on)}."
    return done(request, said, "order", row.number)


def _asks(request: HttpRequest, rows: Any) -> list[AskLine]:
    """The filled lines of a new order. Errors: `web.form`, `supply.empty_order`."""
    if not rows.is_valid() and not any(rows.errors):
        raise Refused("web.form", "The lines did not arrive whole: send them again.")
    filled = [checked(row) for row in rows]
    wanted = [row for row in filled if row.get("callout")]
    if not wanted:
        raise Refused("supply.empty_order", "The order has no lines: add one.")
    return [_ask(request, row) for row in wanted]


def _ask(request: HttpRequest, row: dict[str, Any]) -> AskLine:
    line = AskLine(
        item=item_asked(text=row["callout"], sure=is_sure(request)),
        packs=row["packs"] or 0,
        pack_pieces=row["pack_pieces"],
        pack_grams=row["pack_grams"],
    )
    pieces = line.packs * (line.pack_pieces or 0)
    checked_likely_order(item=line.item, pieces=pieces, sure=is_sure(request))
    return line


@require_POST
def expect(request: HttpRequest, number: int) -> HttpResponse:
    """Another day it is expected."""
    row = ordering.order_numbered(number)
    form = Expect(request.POST)
    keep(request, "order.html", {**_page(request, row), "form": form})
    on = checked(form)["on"]
    expect_order(order=row, on=on, by=person(request))
    return done(
        request, f"Order {number} is expected {days.said(on)}.", "order", number
    )


@require_POST
def line_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Stop waiting for the rest of a line."""
    line = here(ordering.line_numbered, pk)
    drop_line(line=line, by=person(request), now=timezone.now())
    said = f"The rest of {line.item.words} is no longer waited for."
    return done(request, said, "order", line.order.number)


@require_POST
def line_wait(request: HttpRequest, pk: int) -> HttpResponse:
    """Wait for the rest of a line after all."""
    line = here(ordering.line_numbered, pk)
    wait_again(line=line, by=person(request))
    said = f"The rest of {line.item.words} is waited for again."
    return done(request, said, "order", line.order.number)


@require_POST
def line_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Say what was ordered on a line."""
    line = here(ordering.line_numbered, pk)
    form = _line_form(line, data=request.POST)
    row = ordering.order_numbered(line.order.number)
    keep(request, "order.html", _page(request, row, {pk: form}))
    change_line(line=line, ask=_ask(request, checked(form)), by=person(request))
    return done(request, "The line is changed.", "order", line.order.number)


@require_POST
def line_new(request: HttpRequest, number: int) -> HttpResponse:
    """Another line of an order."""
    row = ordering.order_numbered(number)
    form = OrderRow(request.POST, auto_id="new_%s")
    keep(request, "order.html", {**_page(request, row), "new_line": form})
    line = add_line(order=row, ask=_ask(request, checked(form)), by=person(request))
    return done(request, f"{line.item.words} is on the order.", "order", number)


@require_POST
def order_back(request: HttpRequest, number: int) -> HttpResponse:
    """It was never placed; or it was after all."""
    row = ordering.order_numbered(number)
    keep(request, "order.html", _page(request, row))
    if request.POST.get("again"):
        place_again(order=row, by=person(request))
        said = f"Order {number} is waited for again."
    else:
        take_order_back(order=row, by=person(request), now=timezone.now())
        said = f"Order {number} is taken back: nothing of it is waited for."
    return done(request, said, "order", number)
