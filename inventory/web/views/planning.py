"""Changing the plan by hand: stages and assemblies made, named, copied, split, dropped.

Each post says what should be; a change that takes something away, or touches what is
closed, is shown first and done when somebody says yes.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render, resolve_url
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inventory.planning.actions import editing as acting
from inventory.planning.actions.editing import Edit, Seen
from inventory.planning.models import Assembly, Stage
from inventory.planning.queries import (
    assembly_numbered,
    current_build,
    stage_numbered,
)
from inventory.planning.queries.stored import (
    change_numbered,
    plan_changes,
)
from inventory.planning.rules import editing
from inventory.planning.rules.lists import rename_list, without_list
from inventory.web.forms import Move
from inventory.web.parts import checked, done, here, keep, key_after, person
from inventory.web.planforms import Names, NewAssembly, NewStage, SplitOff
from inventory.web.views.plan import plan_page, stage_page

PAGE = 50
SHOWN = 400
TOLD = 3
# What a page of questions adds to what was sent.
ANSWERS = ("csrfmiddlewaretoken", "sure", "closed_too")


@dataclass(frozen=True)
class Asked:
    """A change that somebody wants: what it is called and does, where it leads.

    `keeps`: what leaves one place goes to another, so that nobody is asked for that.
    """

    said: str
    edit: Edit
    back: tuple[Any, ...]
    seen: Seen | None = None
    keeps: bool = False


def changed(request: HttpRequest, asked: Asked) -> HttpResponse:
    """Apply a change; ask first where it takes away or touches what is closed."""
    found = acting.look(edit=asked.edit, seen=asked.seen)
    if not found.changes:
        return done(request, "It stands so already: nothing was changed.", *asked.back)
    asks = bool(found.closed) or (found.drops and not asked.keeps)
    if asks and request.POST.get("sure") != found.mark:
        return render(request, "plan_ask.html", _question(request, asked, found))
    acting.change(
        edit=asked.edit,
        said=asked.said,
        by=person(request),
        now=timezone.now(),
        seen=asked.seen,
        closed_too=bool(request.POST.get("closed_too")),
    )
    more = len(found.changes) - TOLD
    told = "; ".join(found.changes[:TOLD]) + (f"; and {more} more" if more > 0 else "")
    return done(request, f"{asked.said}. {told}.", *asked.back)


def _question(
    request: HttpRequest, asked: Asked, found: acting.Looked
) -> dict[str, Any]:
    sent = [
        (name, value)
        for name, values in request.POST.lists()
        if name not in ANSWERS
        for value in values
    ]
    return {
        "said": asked.said,
        "found": found,
        "shown": found.changes[:SHOWN],
        "more": max(0, len(found.changes) - SHOWN),
        "sent": sent,
        "back": resolve_url(*asked.back),
    }


def seen_at(request: HttpRequest, spot: tuple[str, ...]) -> Seen:
    """What the page showed when it was opened."""
    return Seen(spot, request.POST.get("seen", "")[:64])


@require_POST
def stage_new(request: HttpRequest) -> HttpResponse:
    """A stage at the end of the plan."""
    form = NewStage(request.POST, auto_id="id_new_%s")
    keep(request, "plan.html", plan_page() | {"new": form})
    data = checked(form)
    return changed(
        request,
        Asked(
            f"New stage {data['name']}"[:120],
            lambda plan: editing.add_stage(plan, data["name"], data["start"]),
            ("plan",),
        ),
    )


def _stage(
    request: HttpRequest, pk: int, **forms: Any
) -> tuple[Stage, tuple[Any, ...]]:
    row = here(stage_numbered, pk)
    keep(request, "stage.html", stage_page(row) | forms)
    return row, ("stage", row.pk)


@require_POST
def stage_name(request: HttpRequest, pk: int) -> HttpResponse:
    """Another name."""
    form = Names(request.POST, auto_id="id_naming_%s")
    row, back = _stage(request, pk, naming=form)
    name = checked(form)["name"]
    start = row.planned_start
    return changed(
        request,
        Asked(
            f"{row.name} has another name",
            lambda plan: editing.change_stage(plan, row.name, name, start),
            back,
            seen_at(request, (row.name,)),
        ),
    )


@require_POST
def stage_copy(request: HttpRequest, pk: int) -> HttpResponse:
    """The same assemblies again in a new stage after it."""
    form = Names(request.POST, auto_id="id_copying_%s")
    row, _back = _stage(request, pk, copying=form)
    name = checked(form)["name"]
    return changed(
        request,
        Asked(
            f"{row.name} is copied",
            lambda plan: editing.copy_stage(plan, row.name, name),
            ("plan",),
            seen_at(request, (row.name,)),
        ),
    )


@require_POST
def stage_split(request: HttpRequest, pk: int) -> HttpResponse:
    """Some of its assemblies go to a new stage that follows."""
    row = here(stage_numbered, pk)
    names = [(each.name, each.name) for each in row.assemblies.all()]
    form = SplitOff(request.POST, choices=names, auto_id="id_splitting_%s")
    _stage(request, pk, splitting=form)
    data = checked(form)
    return changed(
        request,
        Asked(
            f"{row.name} is split",
            lambda plan: editing.split_stage(
                plan, row.name, data["name"], data["chosen"]
            ),
            ("plan",),
            seen_at(request, (row.name,)),
        ),
    )


@require_POST
def stage_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Without it and all that is in it."""
    row, _back = _stage(request, pk)
    return changed(
        request,
        Asked(
            f"{row.name} is dropped",
            lambda plan: editing.drop_stage(plan, row.name),
            ("plan",),
            seen_at(request, (row.name,)),
        ),
    )


@require_POST
def assembly_new(request: HttpRequest, pk: int) -> HttpResponse:
    """An assembly in this stage."""
    form = NewAssembly(request.POST, auto_id="id_new_%s")
    row, back = _stage(request, pk, new=form)
    data = checked(form)
    return changed(
        request,
        Asked(
            f"New assembly {data['name']}"[:120],
            lambda plan: editing.add_assembly(
                plan, row.name, data["name"], data["how_many"]
            ),
            back,
        ),
    )


@require_POST
def assembly_move(request: HttpRequest, pk: int) -> HttpResponse:
    """A place up or down in its stage."""
    row = here(assembly_numbered, pk)
    places = checked(Move(request.POST))["places"]
    return changed(
        request,
        Asked(
            f"{row.name} moved {'up' if places < 0 else 'down'}",
            lambda plan: editing.place_assembly(plan, spot_of(row), places),
            ("stage", row.stage_id),
        ),
    )


def spot_of(row: Assembly) -> tuple[str, str]:
    """Where an assembly stands in the plan."""
    return row.stage.name, row.name


@require_POST
def list_drop(request: HttpRequest) -> HttpResponse:
    """Take out of the plan what came from one list."""
    keep(request, "plan.html", plan_page())
    origin = request.POST.get("list", "")[:80]
    return changed(
        request,
        Asked(
            f"List {origin} is taken out",
            lambda plan: without_list(plan, origin),
            ("plan",),
        ),
    )


@require_POST
def list_name(request: HttpRequest) -> HttpResponse:
    """Another name for a list that the plan came from."""
    keep(request, "plan.html", plan_page())
    origin = request.POST.get("list", "")[:80]
    name = checked(Names(request.POST))["name"]
    return changed(
        request,
        Asked(
            f"List {origin} has another name",
            lambda plan: rename_list(plan, origin, name),
            ("plan",),
        ),
    )


@require_safe
def history(request: HttpRequest) -> HttpResponse:
    """Every change of the plan, the newest first."""
    return render(request, "plan_history.html", _history(key_after(request)))


def _history(before: int | None = None) -> Mapping[str, Any]:
    rows = list(plan_changes(current_build(), PAGE + 1, before))
    last = rows[PAGE - 1].pk if len(rows) > PAGE else None
    return {"rows": rows[:PAGE], "before": last}


@require_POST
def change_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Put back what a change changed."""
    row = here(change_numbered, pk)
    keep(request, "plan_history.html", _history())
    asked = Asked(f"Take back: {row}", acting.back_of(row), ("plan-history",))
    found = acting.look(edit=asked.edit)
    if found.asks and request.POST.get("sure") != found.mark:
        return render(request, "plan_ask.html", _question(request, asked, found))
    acting.take_back(
        change=row,
        by=person(request),
        now=timezone.now(),
        closed_too=bool(request.POST.get("closed_too")),
    )
    return done(request, f"Taken back: {row}.", "plan-history")
