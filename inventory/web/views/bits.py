"""Drill bits: the holes on each, what befalls them, and what was noted by mistake."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inventory.errors import Refused
from inventory.forecasting.actions import happen, take_event_back
from inventory.forecasting.models import Bit
from inventory.forecasting.queries import tools as forecast
from inventory.forecasting.queries.pictures import wear
from inventory.forecasting.rules.bits import BitState
from inventory.people.queries import shop
from inventory.web.forms import WhatBefell
from inventory.web.parts import checked, done, is_sure, keep, person
from inventory.web.pictures import charts

# A seam's worth of holes: does the bit in hand last it?
NEXT_HOLES = 50
ENDS = {
    BitState.DULL: "is dull",
    BitState.BROKEN: "is broken and never drills again",
}


@require_safe
def bits(request: HttpRequest) -> HttpResponse:
    """Every bit that has a tag, and the holes on it."""
    return render(request, "bits.html", _page())


def _page() -> dict[str, Any]:
    life = forecast.bit_life(shop())
    middle, worn = life.median, wear()
    return {
        "rows": [
            {
                "bit": bit,
                "holes": holes,
                "part": round(holes / middle * 100),
                "lasts": life.chance_lasts(holes, NEXT_HOLES),
                "last": bit.happened[-1],
                "can_be_taken_back": len(bit.happened) > 1,
                "events": _may_happen(bit),
            }
            for bit in forecast.bits()
            for holes in (forecast.holes_on(bit),)
        ],
        "picture": charts.wear(worn, life) if worn else None,
        "life": life,
        "median": middle,
        "next_holes": NEXT_HOLES,
    }


def _may_happen(bit: Bit) -> list[tuple[str, str]]:
    if bit.is_broken:
        return []
    never = {bit.state, BitState.SET_ASIDE}
    return [(each.value, each.words) for each in BitState if each not in never]


@require_POST
def bit_event(request: HttpRequest, number: int) -> HttpResponse:
    """What happened to a bit; what ends a life is asked about once."""
    bit = forecast.bit_numbered(number)
    event = checked(WhatBefell(request.POST))["event"]
    keep(request, "bits.html", {**_page(), "asked": (bit.number, event)})
    if event in ENDS and not is_sure(request):
        holes = round(forecast.holes_on(bit))
        raise Refused(
            "forecasting.bit_ends",
            f"Bit {number}, {bit.item.words}, {ENDS[BitState(event)]}, after {holes} "
            "holes? What bits last is learned from it. Say that it is right.",
            {"bit": number, "holes": holes},
        )
    happen(bit=bit, event=event, by=person(request), now=timezone.now())
    return done(request, f"Bit {number}: {bit.get_state_display()}.", "bits")


@require_POST
def bit_event_back(request: HttpRequest, number: int) -> HttpResponse:
    """What was noted last of a bit did not happen."""
    bit = forecast.bit_numbered(number)
    keep(request, "bits.html", _page())
    gone = take_event_back(bit=bit, by=person(request), now=timezone.now())
    said = (
        f"'{gone.get_event_display()}' is taken back; bit {number} is "
        f"{bit.get_state_display()}."
    )
    return done(request, said, "bits")
