"""The plan, its stages and assemblies."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inventory.catalog.queries import item_numbered
from inventory.forecasting.queries.readiness import readiness
from inventory.ledger.queries import bin_numbered, bins_of, quantities_at
from inventory.ledger.queries.acts import at_place, deeds
from inventory.ledger.queries.standing import stands
from inventory.people.queries import shop
from inventory.planning.actions import editing, working
from inventory.planning.actions.substituting import substitute
from inventory.planning.models import CLOSED, IN_WORK, Assembly, Stage
from inventory.planning.queries import (
    assembly_numbered,
    current_build,
    dated,
    stage_numbered,
    stages,
    why_needed,
)
from inventory.planning.queries.asking import asked_by
from inventory.planning.queries.closing import history_of
from inventory.planning.queries.stored import lists_of, stored_plan, stored_stages
from inventory.planning.rules import unfolding
from inventory.planning.rules.editing import mark, mirrored
from inventory.trade.cautions import about
from inventory.web.beside import beside_assembly, beside_stage
from inventory.web.forms import Move, Redate, Skip, UseInstead
from inventory.web.parts import ask, checked, done, download, here, keep, person
from inventory.web.planforms import Names, NewAssembly, NewStage, SplitOff
from inventory.web.views.home import shown

TOPICS = ("drilling", "deburring", "temporary fasteners", "driving", "squeezing")

# What was last done at an assembly, on its page.
LAST = 20


@require_safe
def plan(request: HttpRequest) -> HttpResponse:
    """Every stage in order, with its dates and how far it is."""
    return render(request, "plan.html", plan_page())


def plan_page() -> dict[str, Any]:
    """The stages with their dates, the lists they came from, a stage to make."""
    build = current_build()
    dates = {
        row.pk: row for row in dated(build, timezone.localdate(), shop().pace_days)
    }
    return {
        "build": build,
        "rows": [(row, dates[row.pk]) for row in stages(build)],
        "lists": lists_of(build),
        "new": NewStage(auto_id="id_new_%s"),
    }


@require_safe
def plan_csv(request: HttpRequest) -> HttpResponse:
    """The plan as it stands, as a file that can be imported."""
    text = unfolding.plan_csv(stored_plan(current_build()))
    return download(text.encode(), "plan.csv", "text/csv; charset=utf-8")


@require_safe
def plan_xlsx(request: HttpRequest) -> HttpResponse:
    """The same as a workbook."""
    data = unfolding.plan_xlsx(stored_plan(current_build()))
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    return download(data, "plan.xlsx", kind)


@require_safe
def stage(request: HttpRequest, pk: int) -> HttpResponse:
    """One stage."""
    return render(request, "stage.html", stage_page(stage_numbered(pk)))


def stage_page(row: Stage) -> dict[str, Any]:
    """A stage: its dates, what it lacks, its assemblies, and what can be changed."""
    today = timezone.localdate()
    found = readiness(today)
    here = [each for each in found.stages if each.stage.pk == row.pk]
    names = [(each.name, each.name) for each in row.assemblies.all()]
    dates = dated(row.build, today, shop().pace_days)
    return {
        "beside": beside_stage(row),
        "stage": row,
        "dates": next(each for each in dates if each.pk == row.pk),
        "assemblies": row.assemblies.all(),
        "shown": shown(found, here[0]) if here else None,
        "redate": Redate(initial={"start": row.planned_start}),
        "seen": mark(stored_stages(row.build), (row.name,)),
        "naming": Names(initial={"name": row.name}, auto_id="id_naming_%s"),
        "copying": Names(initial={"name": mirrored(row.name)}, auto_id="id_copying_%s"),
        "new": NewAssembly(auto_id="id_new_%s"),
        "splitting": SplitOff(choices=names, auto_id="id_splitting_%s"),
    }


@require_POST
def stage_date(request: HttpRequest, pk: int) -> HttpResponse:
    """Give it another date."""
    row = stage_numbered(pk)
    form = Redate(request.POST)
    keep(request, "stage.html", {**stage_page(row), "redate": form})
    data = checked(form)
    moved = editing.redate(
        stage=row,
        start=data["start"],
        by=person(request),
        now=timezone.now(),
        shift_later=data["shift_later"],
    )
    when = f"starts {data['start']}" if data["start"] else "follows the pace"
    after = f"; {moved - 1} later stages moved with it" if moved > 1 else ""
    return done(request, f"{row.name} {when}{after}.", "stage", row.pk)


@require_POST
def stage_skip(request: HttpRequest, pk: int) -> HttpResponse:
    """Leave it out of the forecast, or put it back in the plan."""
    row = stage_numbered(pk)
    skipped = checked(Skip(request.POST))["skipped"]
    editing.skip(stage=row, skipped=skipped, by=person(request), now=timezone.now())
    said = (
        "is skipped; what was pulled for it stays"
        if skipped
        else "is put back in the plan"
    )
    return done(request, f"{row.name} {said}.", "plan")


@require_POST
def stage_move(request: HttpRequest, pk: int) -> HttpResponse:
    """A place up or down."""
    row = stage_numbered(pk)
    places = checked(Move(request.POST))["places"]
    editing.move_stage(stage=row, places=places, by=person(request), now=timezone.now())
    way = "up" if places < 0 else "down"
    return done(request, f"{row.name} moved {way}.", "plan")


@require_safe
def assembly(request: HttpRequest, pk: int) -> HttpResponse:
    """One assembly: what it asks, what was pulled, what it drills and holds."""
    return render(
        request, "assembly.html", _assembly_page(request, assembly_numbered(pk))
    )


def _assembly_page(request: HttpRequest, row: Assembly) -> dict[str, Any]:
    asks = asked_by(row)
    where: dict[int, list[Any]] = {}
    for bin in bins_of(each.item.pk for each in asks):
        where.setdefault(bin.item_id, []).append(bin)
    there = quantities_at(bin.place_id for rows in where.values() for bin in rows)
    return {
        "beside": beside_assembly(row),
        "assembly": row,
        "asks": [
            (
                each,
                [
                    (bin, there.get((bin.place_id, bin.item_id), 0))
                    for bin in where.get(each.item.pk, [])
                ],
                why_needed(each.item.pk, row),
            )
            for each in asks
        ],
        "drillings": row.drillings.all(),
        "instead": UseInstead(),
        "substitutions": row.substitutions.filter(stands("act")).select_related(
            "needed", "used", "act__by"
        ),
        "deeds": deeds(LAST, person(request), where=at_place(row.place_id))
        if row.place_id
        else [],
        "can_close": row.state == IN_WORK,
        "can_reopen": row.state == CLOSED,
        "history": history_of(row),
        "cautions": [each for topic in TOPICS for each in about(topic)],
    }


@require_POST
def assembly_reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """Put it back in work."""
    row = assembly_numbered(pk)
    keep(request, "assembly.html", _assembly_page(request, row))
    working.reopen(
        assembly=row,
        by=person(request),
        now=timezone.now(),
        note=request.POST.get("note", ""),
    )
    return done(request, f"{row.name} is in work again.", "assembly", row.pk)


@require_POST
def assembly_instead(request: HttpRequest, pk: int, item: int) -> HttpResponse:
    """Use another item for one that it asks for."""
    row, needed = assembly_numbered(pk), here(item_numbered, item)
    form = UseInstead(request.POST)
    keep(request, "assembly.html", _assembly_page(request, row))
    data = checked(form)
    substitute(
        assembly=row,
        needed=needed,
        bin=bin_numbered(data["bin"]),
        quantity=data["quantity"],
        approval=data["approval"],
        ask=ask(request, reason=f"instead of {needed.callout}"),
    )
    said = f"{data['quantity']} from bin {data['bin']} count as {needed.words}."
    return done(request, said, "assembly", pk)
