"""Bins: the list, one bin, a new one."""

import uuid
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.views.decorators.http import (
    require_http_methods,
    require_POST,
    require_safe,
)

from inventory.catalog.actions import item_asked, item_described
from inventory.catalog.models import Item
from inventory.catalog.queries import look_alikes, names_of_things
from inventory.catalog.rules import described
from inventory.forecasting.actions import fit_from_bin
from inventory.ledger import queries as ledger
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import (
    bring_back_bin,
    change_bin,
    open_bin,
    retire_bin,
)
from inventory.ledger.actions.posting import Ask, Done
from inventory.ledger.queries import Bin
from inventory.ledger.queries.acts import at_place, deeds
from inventory.ledger.queries.loans import loans
from inventory.ledger.queries.lots import lots_in
from inventory.ledger.rules import UNPLANNED, BinOrder, Verb
from inventory.ordering.queries.usual import checked_likely, checked_likely_order
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.queries import (
    assembly_numbered,
    current_build,
    open_assemblies,
)
from inventory.web.beside import beside_bin
from inventory.web.binforms import ChangeBin, LookInto, NewBin, RetireBin, WorkAtBin
from inventory.web.parts import (
    ask,
    checked,
    done,
    is_sure,
    keep,
    key_after,
    person,
    posted,
)

PAGE = 100
LAST = 20


@require_safe
def bins(request: HttpRequest) -> HttpResponse:
    """Every bin; searched by words, callout, spot or number."""
    text = request.GET.get("q", "").strip()[:80]
    flag, order = request.GET.get("flag", ""), request.GET.get("order", "")
    asked = ledger.BinList(
        order=BinOrder(order) if order in list(BinOrder) else BinOrder.NUMBER,
        text=text,
        to_count=flag == "count",
        retired=flag == "retired",
    )
    skip = key_after(request, "from") or 0
    found = ledger.bins_listed(asked, skip, PAGE + 1)
    there = ledger.quantities_at(bin.place_id for bin in found)
    return render(
        request,
        "bins.html",
        {
            "q": text,
            "flag": flag,
            "order": asked.order,
            "orders": list(BinOrder),
            "rows": [
                (bin, there.get((bin.place_id, bin.item_id), 0)) for bin in found[:PAGE]
            ],
            "next": skip + PAGE if len(found) > PAGE else None,
        },
    )


@require_safe
def bin(request: HttpRequest, number: int) -> HttpResponse:
    """One bin."""
    row = ledger.bin_numbered(number)
    return render(request, "bin.html", bin_page(request, row))


def bin_page(request: HttpRequest, row: Bin) -> dict[str, Any]:
    """What a bin's page shows."""
    place = row.place_id
    last = deeds(
        LAST + 1,
        person(request),
        before=key_after(request),
        where=at_place(place),
        place=place,
    )
    return {
        "beside": beside_bin(row),
        "bin": row,
        "on_hand": ledger.quantity_in(row),
        "lots": lots_in(row),
        "people": loans([row.item_id]),
        "deeds": last[:LAST],
        "before": last[LAST - 1].act.pk if len(last) > LAST else None,
        "alike": ledger.bins_of(each.pk for each in look_alikes(row.item)),
        "form": ChangeBin(initial={"spot": row.spot, "keep_level": row.keep_level}),
        "work": _work_form(None, uuid.uuid4()),
        "look": LookInto(initial={"scan_id": uuid.uuid4()}),
        "retire": RetireBin(),
    }


def _work_form(given: QueryDict | None, scan_id: uuid.UUID | None = None) -> WorkAtBin:
    rows = open_assemblies(current_build())
    return WorkAtBin(given, assemblies=rows, initial={"scan_id": scan_id})


@require_POST
def bin_book(request: HttpRequest, number: int) -> HttpResponse:
    """Count it, pull from it, return to it, or scrap, by hand."""
    row = ledger.bin_numbered(number)
    form = _work_form(request.POST)
    keep(request, "bin.html", {**bin_page(request, row), "work": form})
    data = checked(form)
    verb, quantity = Verb(data["verb"]), data["quantity"]
    checked_likely(
        verb=verb,
        bin=row,
        quantity=quantity,
        sure=is_sure(request),
        scan_id=data["scan_id"],
    )
    worked = _worked(row, verb, data, ask(request, data["scan_id"], data["reason"]))
    beyond = (
        f" The record held {worked.beyond:,} fewer: count the bin."
        if worked.beyond
        else ""
    )
    said = f"{verb.past.capitalize()} {quantity:,} in bin {number}."
    if request.POST.get("then") == "home":
        return done(request, f"{said}{beyond}", "home")
    return done(request, f"{said}{beyond}", "bin", number)


def _worked(row: Bin, verb: Verb, data: dict[str, Any], by: Ask) -> Done:
    quantity = data["quantity"]
    if verb == Verb.COUNT:
        return verbs.count(bin=row, counted=quantity, ask=by)
    if verb == Verb.PULL and row.item.sort.one_at_a_time:
        return fit_from_bin(bin=row, ask=by)[1]
    place = ledger.single_place(UNPLANNED)
    if data["assembly"]:
        place = place_to_pull_for(
            assembly=assembly_numbered(data["assembly"]), by=by.by, now=by.now
        )
    if verb == Verb.PULL:
        return verbs.pull(bin=row, quantity=quantity, to=place, ask=by)
    if verb == Verb.RETURN:
        return verbs.give_back(bin=row, quantity=quantity, from_=place, ask=by)
    origin = place if data["assembly"] else row.place
    return verbs.scrap(bin=row, quantity=quantity, from_=origin, ask=by)


@require_POST
def bin_change(request: HttpRequest, number: int) -> HttpResponse:
    """Its spot and its keep level."""
    row = ledger.bin_numbered(number)
    form = ChangeBin(request.POST)
    keep(request, "bin.html", {**bin_page(request, row), "form": form})
    data = checked(form)
    change_bin(
        bin=row, by=person(request), spot=data["spot"], keep_level=data["keep_level"]
    )
    return done(request, f"Bin {number} is changed.", "bin", number)


@require_POST
def bin_retire(request: HttpRequest, number: int) -> HttpResponse:
    """Take it out of use; what is left in it is gone, where that is said."""
    row = ledger.bin_numbered(number)
    keep(request, "bin.html", bin_page(request, row))
    data = checked(RetireBin(request.POST))
    by = ask(request, reason=f"emptied away: {data['reason']}".rstrip(": "))
    left = ledger.quantity_in(row)
    with transaction.atomic():
        if left and data["gone"]:
            verbs.scrap(bin=row, quantity=left, from_=row.place, ask=by)
        retire_bin(bin=row, now=by.now)
    return done(request, f"Bin {number} is retired; its record stays.", "bins")


@require_POST
def bin_use(request: HttpRequest, number: int) -> HttpResponse:
    """Use a retired one again."""
    row = ledger.bin_numbered(number)
    bring_back_bin(bin=row)
    said = f"Bin {number} is in use again. Count what is in it."
    return done(request, said, "bin", number)


@require_http_methods(["GET", "HEAD", "POST"])
def bin_new(request: HttpRequest) -> HttpResponse:
    """A bin for a callout, or for a kind with its size and form."""
    form = NewBin(posted(request), initial=request.GET.dict())
    page = {"form": form, "things": names_of_things()}
    if request.method != "POST":
        return render(request, "bin_new.html", page)
    keep(request, "bin_new.html", page)
    data = checked(form)
    what = _item(data, sure=is_sure(request))
    if data["counted"]:
        checked_likely_order(item=what, pieces=data["counted"], sure=is_sure(request))
    row = open_bin(
        item=what,
        by=person(request),
        number=data["number"],
        spot=data["spot"],
        keep_level=data["keep_level"],
    )
    counted = data["counted"]
    if counted is not None:
        verbs.count(bin=row, counted=counted, ask=ask(request))
    said = f"Bin {row.number} is made. Print its label"
    said += ", then count what is in it." if counted is None else "."
    return done(request, said, "bin", row.number)


def _item(data: dict[str, Any], *, sure: bool) -> Item:
    if not data["kind"]:
        return item_asked(text=data["callout"], sure=sure)
    what = described(
        data["kind"], size=data["size"], form=data["form"], name=data["name"]
    )
    return item_described(what=what, alias=data["callout"])
