"""Bins: the list, one bin, a new one."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import (
    require_http_methods,
    require_POST,
    require_safe,
)

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.models import Item
from inventory.catalog.queries import look_alikes
from inventory.catalog.rules import described
from inventory.ledger import queries as ledger
from inventory.ledger.actions.bins import change_bin, open_bin
from inventory.ledger.queries import Bin
from inventory.ledger.queries.acts import at_place, deeds
from inventory.ledger.queries.lots import lots_in
from inventory.web.forms import ChangeBin, NewBin
from inventory.web.parts import checked, done, keep, key_after, person, posted

PAGE = 100
LAST = 20


@require_safe
def bins(request: HttpRequest) -> HttpResponse:
    """Every bin; searched by words, callout, spot or number."""
    text = request.GET.get("q", "").strip()[:80]
    found = ledger.bins_after(
        key_after(request, "after") or 0,
        PAGE + 1,
        text=text,
        to_count=request.GET.get("flag") == "count",
    )
    there = ledger.quantities_at(bin.place_id for bin in found)
    return render(
        request,
        "bins.html",
        {
            "q": text,
            "flag": request.GET.get("flag", ""),
            "rows": [
                (bin, there.get((bin.place_id, bin.item_id), 0)) for bin in found[:PAGE]
            ],
            "after": found[PAGE - 1].number if len(found) > PAGE else None,
        },
    )


@require_safe
def bin(request: HttpRequest, number: int) -> HttpResponse:
    """One bin."""
    row = ledger.bin_numbered(number)
    return render(request, "bin.html", _page(request, row))


def _page(request: HttpRequest, row: Bin) -> dict[str, Any]:
    place = row.place_id
    last = deeds(
        LAST + 1,
        person(request),
        before=key_after(request),
        where=at_place(place),
        place=place,
    )
    return {
        "bin": row,
        "on_hand": ledger.quantity_in(row),
        "lots": lots_in(row),
        "people": ledger.lent_and_borrowed(row.item_id),
        "deeds": last[:LAST],
        "before": last[LAST - 1].act.pk if len(last) > LAST else None,
        "alike": ledger.bins_of(each.pk for each in look_alikes(row.item)),
        "form": ChangeBin(initial={"spot": row.spot, "keep_level": row.keep_level}),
    }


@require_POST
def bin_change(request: HttpRequest, number: int) -> HttpResponse:
    """Its spot and its keep level."""
    row = ledger.bin_numbered(number)
    form = ChangeBin(request.POST)
    keep(request, "bin.html", {**_page(request, row), "form": form})
    data = checked(form)
    change_bin(
        bin=row, by=person(request), spot=data["spot"], keep_level=data["keep_level"]
    )
    return done(request, f"Bin {number} is changed.", "bin", number)


@require_http_methods(["GET", "HEAD", "POST"])
def bin_new(request: HttpRequest) -> HttpResponse:
    """A bin for a callout, or for a kind with its size and form."""
    form = NewBin(posted(request), initial=request.GET.dict())
    if request.method != "POST":
        return render(request, "bin_new.html", {"form": form})
    keep(request, "bin_new.html", {"form": form})
    data = checked(form)
    row = open_bin(
        item=_item(data),
        by=person(request),
        number=data["number"],
        spot=data["spot"],
        keep_level=data["keep_level"],
    )
    said = f"Bin {row.number} is made. Print its label, then count what is in it."
    return done(request, said, "bin", row.number)


def _item(data: dict[str, Any]) -> Item:
    if not data["kind"]:
        return item_for_callout(text=data["callout"])
    what = described(
        data["kind"], size=data["size"], form=data["form"], name=data["name"]
    )
    return item_described(what=what, alias=data["callout"])
