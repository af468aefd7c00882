"""A bin counted by weight: how many, give or take, and what would make it exact."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from inventory.forecasting.rules.weighing import (
    Sample,
    Scale,
    WeighedCount,
    sample_for,
    weigh,
)
from inventory.ledger import queries as ledger
from inventory.ledger.actions.bins import keep_tare
from inventory.ledger.actions.verbs import count
from inventory.ledger.queries import Bin
from inventory.ledger.rules import Verb
from inventory.ordering.queries.usual import checked_likely
from inventory.web.forms import WeighBin
from inventory.web.parts import ask, checked, done, is_sure, keep, posted

# How much pieces of one tin differ in mass, as a share: a guess until weighed singly.
PIECE_SPREAD = 0.01
_USUAL_DIVISION = 0.1


@require_http_methods(["GET", "HEAD", "POST"])
def bin_weigh(request: HttpRequest, number: int) -> HttpResponse:
    """Weigh it; the answer is shown first and booked when that is asked for."""
    row = ledger.bin_numbered(number)
    form = WeighBin(posted(request), initial={"tare": row.tare_g})
    page = _page(row, form)
    if request.method != "POST":
        return render(request, "weigh.html", page)
    keep(request, "weigh.html", page)
    data = checked(form)
    found = _weighed(data)
    if "book" not in request.POST:
        return render(request, "weigh.html", {**page, "found": found})
    checked_likely(
        verb=Verb.COUNT, bin=row, quantity=found.count, sure=is_sure(request)
    )
    doubt = Decimal(str(round(found.sd, 2)))
    asked = replace(ask(request, reason="weighed"), doubt=doubt)
    count(bin=row, counted=found.count, ask=asked)
    keep_tare(bin=row, grams=data["tare"])
    said = f"Bin {number} holds {found.words} by weight."
    return done(request, said, "bin", number)


def _weighed(data: dict[str, Any]) -> WeighedCount:
    sample = Sample(data["pieces"], float(data["grams"]), PIECE_SPREAD)
    scale = Scale(float(data["division"]))
    return weigh(float(data["gross"]), float(data["tare"]), sample, scale)


def _page(row: Bin, form: WeighBin) -> dict[str, Any]:
    on_hand = ledger.quantity_in(row)
    return {
        "bin": row,
        "form": form,
        "on_hand": on_hand,
        "wanted": _wanted(row, on_hand),
        "spread": PIECE_SPREAD,
    }


def _wanted(row: Bin, on_hand: int) -> int | None:
    """The sample that makes what the record says exact on a usual scale."""
    mass = row.item.piece_mass_mg
    if not mass or not on_hand:
        return None
    unit = Scale(_USUAL_DIVISION).of_net / (float(mass) / 1000)
    return sample_for(on_hand, PIECE_SPREAD, unit)
