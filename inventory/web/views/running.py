"""How the shop runs: a page for its owner, two addresses for whatever watches it."""

from collections.abc import Callable

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.alerts.queries.running import (
    RunningState,
    running_parts,
    silent_since,
    why_other_tables,
)
from inventory.alerts.tasks import why_no_broker


@require_safe
def running(request: HttpRequest) -> HttpResponse:
    """Every part, what does not work first."""
    order = [RunningState.STOP, RunningState.LOOK, RunningState.GOOD]
    parts = running_parts(timezone.now(), why_no_broker())
    parts.sort(key=lambda part: order.index(part.state))
    return render(request, "running.html", {"parts": parts})


@login_not_required
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """Whether the pages and their database work; tells a stranger nothing else."""
    return _answer(lambda: "")


@login_not_required
@require_safe
def health_of_worker(request: HttpRequest) -> HttpResponse:
    """Whether the background worker works."""
    silent = "the background worker is silent"
    return _answer(lambda: silent if silent_since(timezone.now()) else "")


def _answer(why: Callable[[], str]) -> HttpResponse:
    try:
        other = why_other_tables()
        wrong = "the tables are of another version" if other else why()
    except DatabaseError:
        wrong = "the database does not answer"
    status = 503 if wrong else 200
    return HttpResponse(wrong or "ok", content_type="text/plain", status=status)
