"""How the shop runs: a page for its owner, two addresses for whatever watches it."""

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
)
from inventory.alerts.tasks import why_no_broker
from inventory.people.queries import has_owner


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
    try:
        has_owner()
    except DatabaseError:
        return _answer("the database does not answer")
    return _answer("")


@login_not_required
@require_safe
def health_of_worker(request: HttpRequest) -> HttpResponse:
    """Whether the background worker works."""
    try:
        since = silent_since(timezone.now())
    except DatabaseError:
        return _answer("the database does not answer")
    return _answer("the background worker is silent" if since else "")


def _answer(wrong: str) -> HttpResponse:
    status = 503 if wrong else 200
    return HttpResponse(wrong or "ok", content_type="text/plain", status=status)
