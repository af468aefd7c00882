"""Receiving: for an order's line, or what came without an order."""

import uuid
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_http_methods, require_safe

from inventory.ledger.queries import bin_numbered, bins
from inventory.supply import queries as supply
from inventory.supply.actions.ordering import supplier_called
from inventory.supply.actions.receiving import Papers, Weighed, receive
from inventory.supply.models import OrderLine, Supplier
from inventory.web.forms import Receive, ReceiveLoose
from inventory.web.parts import ask, checked, done, keep, posted


@require_http_methods(["GET", "HEAD", "POST"])
def line_in(request: HttpRequest, pk: int) -> HttpResponse:
    """What arrived of a line."""
    line = get_object_or_404(supply.lines(), pk=pk)
    form = Receive(
        posted(request),
        item=line.item_id,
        initial={"scan_id": uuid.uuid4()},
    )
    owed = next((row for row in supply.missing(line.order) if row.line.pk == pk), None)
    page = {
        "form": form,
        "line": line,
        "owed": owed,
        "ordered": supply.ordered_pieces(line),
    }
    if request.method != "POST":
        return render(request, "receive_line.html", page)
    keep(request, "receive_line.html", page)
    data = checked(form)
    receipt = receive(
        bin=bin_numbered(data["bin"]),
        supplier=line.order.supplier,
        ask=ask(request, data["scan_id"]),
        pieces=_pieces(data),
        line=line,
        papers=_papers(data),
        closes=data["closes"],
    )[1]
    said = f"{receipt.pieces} of {line.item.words} received into bin {data['bin']}."
    return done(request, f"{said} {_over_or_short(pk)}", "order", line.order.number)


def _over_or_short(pk: int) -> str:
    """Whether the line got more, less or just what was ordered."""
    line: OrderLine = supply.lines().get(pk=pk)
    ordered, got = supply.ordered_pieces(line), getattr(line, "got", 0)
    if not ordered:
        return "How many were ordered is not known in pieces."
    if got == ordered:
        return "The line is complete."
    if got > ordered:
        return f"That is {got - ordered} over."
    return f"That is {ordered - got} short of {ordered}."


@require_safe
def loose(request: HttpRequest) -> HttpResponse:
    """Choose the bin that something without an order went into."""
    return render(request, "receive.html", {"bins": bins()})


@require_http_methods(["GET", "HEAD", "POST"])
def loose_in(request: HttpRequest, number: int) -> HttpResponse:
    """What arrived without an order."""
    bin = bin_numbered(number)
    start: dict[str, Any] = {"scan_id": uuid.uuid4(), "bin": number}
    form = ReceiveLoose(posted(request), item=bin.item_id, initial=start)
    page = {
        "form": form,
        "bin": bin,
        "suppliers": Supplier.objects.values_list("name", flat=True),
    }
    if request.method != "POST":
        return render(request, "receive_bin.html", page)
    keep(request, "receive_bin.html", page)
    data = checked(form)
    receipt = receive(
        bin=bin_numbered(data["bin"]),
        supplier=supplier_called(name=data["supplier"]),
        ask=ask(request, data["scan_id"], "no order"),
        pieces=_pieces(data),
        papers=_papers(data),
    )[1]
    said = f"{receipt.pieces} of {bin.item.words} received into bin {data['bin']}."
    return done(request, said, "bin", data["bin"])


def _pieces(data: dict[str, Any]) -> int | Weighed:
    if data["pieces"]:
        return int(data["pieces"])
    return Weighed(data["grams"], data["sample_pieces"], data["sample_grams"])


def _papers(data: dict[str, Any]) -> Papers:
    return Papers(data["lot"], data["paper"], data["expires_on"])
