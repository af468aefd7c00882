"""What was done in the shop, and taking it back."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, time, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST, require_safe

from inventory.alerts import queries as alerts_queries
from inventory.errors import Refused
from inventory.forecasting.actions import undo_act
from inventory.forecasting.queries import tools as tools_queries
from inventory.ledger import queries as ledger
from inventory.ledger.queries import acts as done_before
from inventory.ledger.queries.acts import Deed
from inventory.ledger.queries.standing import is_gone, last_of_chain
from inventory.ordering import queries as ordering_queries
from inventory.people.rules import Doing
from inventory.planning.queries.doings import doings as planning_doings
from inventory.web.forms import FindActs
from inventory.web.parts import ask, checked, done, key_after, person

PAGE = 50
EVER = datetime(2000, 1, 1, tzinfo=UTC), datetime(9000, 1, 1, tzinfo=UTC)
# The rooms in which something is done that moves no piece.
ROOMS = (
    planning_doings,
    ordering_queries.doings,
    tools_queries.doings,
    alerts_queries.doings,
)


@require_safe
def acts(request: HttpRequest) -> HttpResponse:
    """Everything that was done, the newest first; by person, bin and day."""
    people = done_before.people_who_did()
    form = FindActs(request.GET or None, people=people)
    data = checked(form) if request.GET else {}
    where = done_before.found_by(
        by=data.get("by"), bin=data.get("bin"), day=data.get("day")
    )
    found = done_before.deeds(
        PAGE + 1, person(request), before=key_after(request), where=where
    )
    asked = request.GET.copy()
    asked.pop("before", None)
    page = {
        "form": form,
        "deeds": found[:PAGE],
        "besides": [] if data.get("bin") else _besides(request, found, data),
        "before": found[PAGE - 1].act.pk if len(found) > PAGE else None,
        "asked": asked.urlencode(),
    }
    return render(request, "acts.html", page)


def _besides(
    request: HttpRequest, found: Sequence[Deed], asked: Mapping[str, Any]
) -> list[Doing]:
    """What else was done from a page's acts to those of the page before, or on a day."""
    since, until = EVER
    if len(found) > PAGE:
        since = found[PAGE].act.at
    if key_after(request) is not None and found:
        until = found[0].act.at
    if day := asked.get("day"):
        since = timezone.make_aware(datetime.combine(day, time()))
        until = since + timedelta(days=1)
    every = [row for room in ROOMS for row in room(since, until, PAGE)]
    by = asked.get("by")
    mine = [row for row in every if by is None or row.person == by]
    return sorted(mine, key=lambda row: row.at, reverse=True)[:PAGE]


@require_POST
def act_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an act back; or, where it is taken back, put it in force again."""
    act = ledger.act_numbered(pk)
    done_before.checked_to_take_back(act, person(request))
    was_gone = request.POST.get("gone") == "yes"
    if was_gone != is_gone(act):
        now = "is taken back already" if is_gone(act) else "is in force again already"
        raise Refused("ledger.undone", f"That {now}: nothing moved.")
    undo_act(act=last_of_chain(act), ask=ask(request))
    said = "It is in force again." if was_gone else "It is taken back."
    back = request.POST.get("next", "")
    inside = back.startswith("/") and url_has_allowed_host_and_scheme(back, None)
    return done(request, said, back if inside else "acts")
