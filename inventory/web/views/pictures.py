"""The forecast as pictures, each beside the same figures as a table."""

from collections.abc import Iterable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.catalog.queries import item_numbered
from inventory.forecasting.queries.pictures import (
    SHARES,
    free_first,
    pool_days,
    run_out,
    spoilage_days,
)
from inventory.forecasting.queries.readiness import readiness
from inventory.forecasting.queries.report import words_of
from inventory.forecasting.rules.lines import Line
from inventory.planning.queries import assembly_numbered
from inventory.web.parts import here
from inventory.web.pictures import charts

# Classes that are drawn, those of which most was set; of the others the figures do.
DRAWN = 4


@require_safe
def item_run_out(request: HttpRequest, pk: int) -> HttpResponse:
    """One item's stock through the stages, with its chances."""
    item = here(item_numbered, pk)
    found = run_out(readiness(timezone.localdate()), item)
    page = {
        "item": item,
        "found": found,
        "shares": SHARES,
        "picture": charts.fan(item.words, found) if found.rows else None,
    }
    return render(request, "run_out.html", page)


@require_safe
def pool(request: HttpRequest) -> HttpResponse:
    """Temporary fasteners through time, by size, and what to rivet first."""
    today = timezone.localdate()
    first = [(row, assembly_numbered(row.assembly_id)) for row in free_first(today)]
    rows = [(row, charts.pool(row)) for row in pool_days(today)]
    return render(request, "pool.html", {"rows": rows, "first": first})


@require_safe
def spoilage(request: HttpRequest) -> HttpResponse:
    """What was spoilt through time, by class, and what is expected."""
    today = timezone.localdate()
    rows = [
        (row, charts.spoilage(row, today) if at < DRAWN else None)
        for at, row in enumerate(spoilage_days())
    ]
    return render(request, "spoilage.html", {"rows": rows})


@require_safe
def grid(request: HttpRequest) -> HttpResponse:
    """Stages by items: where each runs short, at a glance; what is all right stands last."""
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
    asking = [row for row in rows if any(line and line.short for line in row[1])]
    page: dict[str, Any] = {
        "stages": found.stages,
        "tables": [asking, [row for row in rows if row not in asking]],
    }
    return render(request, "grid.html", page)


def _worst(lines: Iterable[Line]) -> float:
    return max(line.chance_short for line in lines)
