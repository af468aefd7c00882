"""The forecast as pictures, each beside the same figures as a table."""

from collections.abc import Sequence
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.catalog.queries import item_numbered
from inventory.forecasting.queries.pictures import (
    SHARES,
    free_first,
    pool_days,
    run_out,
    wear,
)
from inventory.forecasting.queries.readiness import readiness
from inventory.forecasting.queries.report import words_of
from inventory.forecasting.queries.tools import bit_life
from inventory.forecasting.rules.lines import Line
from inventory.ledger.queries import in_bins
from inventory.people.queries import shop
from inventory.planning.queries import assembly_numbered
from inventory.web import pictures
from inventory.web.parts import here


def _svg(drawn: bytes) -> HttpResponse:
    return HttpResponse(drawn, content_type="image/svg+xml")


@require_safe
def item_run_out(request: HttpRequest, pk: int) -> HttpResponse:
    """One item's stock through the stages, with its chances."""
    item, today = here(item_numbered, pk), timezone.localdate()
    page = {
        "item": item,
        "rows": run_out(readiness(today), item),
        "on_hand": in_bins().get(pk, 0),
        "shares": SHARES,
    }
    return render(request, "run_out.html", page)


@require_safe
def item_run_out_svg(request: HttpRequest, pk: int) -> HttpResponse:
    """The fan chart of it."""
    item, today = here(item_numbered, pk), timezone.localdate()
    rows = run_out(readiness(today), item)
    return _svg(pictures.fan(item.words, today, in_bins().get(pk, 0), rows))


@require_safe
def pool(request: HttpRequest) -> HttpResponse:
    """Temporary fasteners through time, by size, and what to rivet first."""
    today = timezone.localdate()
    first = [(row, assembly_numbered(row.assembly_id)) for row in free_first(today)]
    return render(request, "pool.html", {"rows": pool_days(today), "first": first})


@require_safe
def pool_svg(request: HttpRequest, at: int) -> HttpResponse:
    """The picture of the n-th size."""
    rows = pool_days(timezone.localdate())
    if not 0 <= at < len(rows):
        raise Http404
    return _svg(pictures.pool(rows[at]))


@require_safe
def bits_svg(request: HttpRequest) -> HttpResponse:
    """The holes on each bit."""
    rows = wear()
    names = [f"bit {bit.number}, {bit.item.size}" for bit, _holes in rows]
    holes = [on_it for _bit, on_it in rows]
    return _svg(pictures.bit_wear(names, holes, bit_life(shop()).median))


@require_safe
def grid(request: HttpRequest) -> HttpResponse:
    """Stages by items: where each runs short, at a glance."""
    found = readiness(timezone.localdate())
    lines: dict[str, dict[int, Line]] = {}
    for row in found.stages:
        for line in row.lines:
            lines.setdefault(words_of(found, line), {})[row.stage.pk] = line
    ranked = sorted(lines.items(), key=lambda pair: -_worst(pair[1].values()))
    rows = [
        (words, [each.get(row.stage.pk) for row in found.stages])
        for words, each in ranked
    ]
    page: dict[str, Any] = {"stages": found.stages, "rows": rows}
    return render(request, "grid.html", page)


def _worst(lines: Sequence[Line] | Any) -> float:
    return max(line.chance_short for line in lines)
