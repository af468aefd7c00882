"""Items, and callouts nobody could read."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inventory.alerts.queries import open_alerts
from inventory.catalog.actions import item_asked
from inventory.catalog.models import Item
from inventory.catalog.queries import (
    changes_of,
    item_numbered,
    look_alikes,
    names_of_things,
    search,
    spelled,
)
from inventory.catalog.rules import KINDS
from inventory.forecasting.queries.pictures import neighbours
from inventory.forecasting.queries.why import why
from inventory.ledger.queries import bins_of, in_bins, quantities_at
from inventory.ordering.actions.receiving import weigh
from inventory.people.queries import shop
from inventory.planning.actions.importing import teach as learn
from inventory.planning.actions.importing import unread_callouts
from inventory.planning.queries import waiting_for, why_needed
from inventory.trade.callouts import readings
from inventory.web.beside import beside_item
from inventory.web.forms import Weigh
from inventory.web.itemforms import OtherName, Really, Rename, Teach
from inventory.web.parts import ask, checked, done, here, keep, key_after, person
from inventory.web.pictures import charts

PAGE = 100


@require_safe
def items(request: HttpRequest) -> HttpResponse:
    """Every item; searched by words and every spelling."""
    text = request.GET.get("q", "").strip()[:80]
    kind = request.GET.get("kind", "")
    skip = key_after(request, "from") or 0
    rows = list(search(text, kind if kind in KINDS else "")[skip : skip + PAGE + 1])
    there = in_bins()
    return render(
        request,
        "items.html",
        {
            "q": text,
            "kind": kind,
            "kinds": KINDS.values(),
            "rows": [(row, there.get(row.pk, 0)) for row in rows[:PAGE]],
            "next": skip + PAGE if len(rows) > PAGE else None,
            "unread": len(unread_callouts()),
        },
    )


@require_safe
def item(request: HttpRequest, pk: int) -> HttpResponse:
    """One item."""
    return render(request, "item.html", page_of(here(item_numbered, pk)))


@require_safe
def item_why(request: HttpRequest, pk: int) -> HttpResponse:
    """Why the forecast says what it says of an item."""
    row = here(item_numbered, pk)
    page = {"item": row, "why": why(row, timezone.localdate())}
    return render(request, "item_why.html", page)


def page_of(row: Item) -> dict[str, Any]:
    """All that an item's page shows."""
    rows, lengths = bins_of([row.pk]), neighbours(row, timezone.localdate())
    there = quantities_at(bin.place_id for bin in rows)
    return {
        "beside": beside_item(row),
        "item": row,
        "names": [
            (each, not readings(each.text).found and each.text != spelled(row.callout))
            for each in row.callouts.order_by("text")
        ],
        "bins": [(bin, there.get((bin.place_id, bin.item_id), 0)) for bin in rows],
        "offers": row.offers.select_related("supplier"),
        "guess_days": shop().lead_days,
        "alerts": open_alerts().filter(subject=f"item {row.pk}"),
        "waiting": waiting_for([row.pk]).get(row.pk, []),
        "lengths": lengths,
        "picture": charts.neighbours(lengths, row.pk) if lengths else None,
        "alike": look_alikes(row),
        "why": why_needed(row.pk),
        "form": Weigh(),
        "explained": bool(readings(row.callout).found),
        "changes": changes_of(row),
        "things": names_of_things(),
        "rename": Rename(initial={"words": row.words}),
        "really": Really(),
        "other_name": OtherName(),
    }


@require_POST
def item_weigh(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep what one piece weighs, from a counted sample."""
    row = here(item_numbered, pk)
    form = Weigh(request.POST)
    keep(request, "item.html", {**page_of(row), "form": form})
    data = checked(form)
    mended = weigh(
        item=row, grams=data["grams"], pieces=data["pieces"], ask=ask(request)
    )
    said = f"One piece weighs {row.piece_mass_mg:.1f} mg."
    return done(request, " ".join([said, *mended]), "item", pk)


@require_safe
def unread(request: HttpRequest) -> HttpResponse:
    """Callouts of the plan that nobody could read."""
    return render(request, "unread.html", _unread_page())


def _unread_page() -> dict[str, Any]:
    rows = [
        Teach(initial={"text": text}, auto_id=f"unread_{at}_%s")
        for at, text in enumerate(unread_callouts())
    ]
    return {"rows": rows, "things": names_of_things()}


@require_POST
def teach(request: HttpRequest) -> HttpResponse:
    """Let a spelling mean what another one means."""
    form = Teach(request.POST)
    keep(request, "unread.html", _unread_page())
    data = checked(form)
    meant = item_asked(text=data["means"])
    learn(text=data["text"], item=meant, by=person(request))
    return done(request, f"{data['text']} means {meant.words}.", "unread")
