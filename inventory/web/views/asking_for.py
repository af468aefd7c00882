"""One assembly changed by hand: its name and number, what it asks, drills and rivets."""

from collections.abc import Mapping
from typing import Any, TypeVar

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_POST, require_safe

from inventory.planning.actions.editing import Edit
from inventory.planning.models import CLOSED, PLANNED, Assembly
from inventory.planning.queries import assembly_numbered, stages
from inventory.planning.queries.stored import stored_assembly
from inventory.planning.rules import editing, numbering
from inventory.web.forms import ShopForm
from inventory.web.parts import checked, here, keep, whole_numbers
from inventory.web.planforms import (
    AskFor,
    ChangeAssembly,
    Drill,
    InPlace,
    Names,
    SeamOf,
    SplitOff,
)
from inventory.web.views.planning import Asked, changed, seen_at, spot_of

TEMPLATE = "assembly_plan.html"


@require_safe
def assembly_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """What it asks, to be changed."""
    return render(request, TEMPLATE, _page(here(assembly_numbered, pk)))


def _page(row: Assembly, **given: Any) -> dict[str, Any]:
    plan = stored_assembly(row)
    spot = spot_of(row)
    lines = numbering.lines_at(plan, spot)
    seen = editing.mark(plan, spot)
    numbers = given.pop("numbers", {}) if given.pop("seen", seen) == seen else {}
    items = {need.callout: need.item for need in row.needs.select_related("item")}
    choices = [(str(at), line.words) for at, line in enumerate(lines)]
    asking = given.pop("asking", None) or AskFor(auto_id="id_asking_%s")
    drilling = given.pop("drilling", None) or Drill(auto_id="id_drilling_%s")
    seaming = given.pop("seaming", None) or SeamOf(auto_id="id_seaming_%s")
    forms: tuple[tuple[str, InPlace], ...] = (
        (numbering.NEED, asking),
        (numbering.HOLES, drilling),
        (numbering.SEAM, seaming),
    )
    for kind, form in forms:
        form.offer(kind, enumerate(lines))
    return {
        "assembly": row,
        "seen": seen,
        "lines": [
            (at, line, numbers.get(at, str(line.number)), items.get(line.words))
            for at, line in enumerate(lines)
        ],
        "closed": row.state == CLOSED,
        "begun": row.state != PLANNED,
        "naming": ChangeAssembly(
            row=row, stages=stages(row.stage.build), auto_id="id_naming_%s"
        ),
        "asking": asking,
        "drilling": drilling,
        "seaming": seaming,
        "copying": Names(
            initial={"name": editing.mirrored(row.name)}, auto_id="id_copying_%s"
        ),
        "splitting": SplitOff(choices=choices, auto_id="id_splitting_%s"),
        **given,
    }


def _asked(
    request: HttpRequest,
    row: Assembly,
    said: str,
    edit: Edit,
    **more: Any,
) -> HttpResponse:
    """Change an assembly; the page of what it asks is shown again, unless `back`."""
    more.setdefault("back", ("assembly-plan", row.pk))
    seen = seen_at(request, spot_of(row))
    return changed(request, Asked(said, edit, seen=seen, **more))


@require_POST
def assembly_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Another name, number or stage."""
    row = here(assembly_numbered, pk)
    form = ChangeAssembly(
        request.POST,
        row=row,
        stages=stages(row.stage.build),
        auto_id="id_naming_%s",
    )
    keep(request, TEMPLATE, _page(row, naming=form))
    data = checked(form)
    return _asked(
        request,
        row,
        f"{row.name} is changed",
        lambda plan: editing.change_assembly(
            plan, spot_of(row), data["name"], data["how_many"], data["stage"]
        ),
    )


@require_POST
def assembly_lines(request: HttpRequest, pk: int) -> HttpResponse:
    """Other numbers for its lines; 0 takes one away."""
    row = here(assembly_numbered, pk)
    said, dropped = _numbers(request)
    seen = request.POST.get("seen", "")
    keep(request, TEMPLATE, _page(row, numbers=said, seen=seen))
    return _asked(
        request,
        row,
        f"{row.name}: other numbers",
        lambda plan: numbering.number_lines(plan, spot_of(row), said, dropped),
    )


def _numbers(request: HttpRequest) -> tuple[dict[int, str], set[int]]:
    said: dict[int, str] = {}
    dropped: set[int] = set()
    for name, value in request.POST.items():
        kind, _, at = name.partition("-")
        if not (at.isascii() and at.isdigit() and len(at) < 6):
            continue
        if kind == "line":
            said[int(at)] = str(value)[:40]
        elif kind == "drop":
            dropped.add(int(at))
    return said, dropped


Given = TypeVar("Given", bound=ShopForm)


def _given(
    request: HttpRequest, pk: int, name: str, shape: type[Given]
) -> tuple[Assembly, Given]:
    """What was filled in on the page, which is shown again if it is refused."""
    row = here(assembly_numbered, pk)
    form = shape(request.POST, auto_id=f"id_{name}_%s")
    keep(request, TEMPLATE, _page(row, **{name: form}))
    return row, form


@require_POST
def assembly_ask(request: HttpRequest, pk: int) -> HttpResponse:
    """One thing more that it asks for."""
    row, form = _given(request, pk, "asking", AskFor)
    data = checked(form)
    what = data["callout"] or data["name"]
    return _added(request, row, f"{row.name} asks for {what}", form, data)


@require_POST
def assembly_drill(request: HttpRequest, pk: int) -> HttpResponse:
    """Holes more."""
    row, form = _given(request, pk, "drilling", Drill)
    data = checked(form)
    said = f"{row.name} has other holes" if data["instead"] else ""
    return _added(request, row, said or f"{row.name} has more holes", form, data)


@require_POST
def assembly_seam(request: HttpRequest, pk: int) -> HttpResponse:
    """A seam more: its rivets and holes are reckoned."""
    row, form = _given(request, pk, "seaming", SeamOf)
    cells = form.cells()
    return _added(request, row, f"{row.name} has another seam", form, cells)


def _added(
    request: HttpRequest,
    row: Assembly,
    said: str,
    form: InPlace,
    cells: Mapping[str, str],
) -> HttpResponse:
    """One line more, or in place of the one that was chosen."""
    instead = form.cleaned_data["instead"]
    at = int(instead) if instead else None
    given = {name: text for name, text in cells.items() if name != "instead"}
    return _asked(
        request,
        row,
        said[:160],
        lambda plan: numbering.replace_line(plan, spot_of(row), at, given),
        # In place of another is a change, not a loss.
        keeps=at is not None,
    )


@require_POST
def assembly_copy(request: HttpRequest, pk: int) -> HttpResponse:
    """The same again under another name, in the same stage."""
    row, form = _given(request, pk, "copying", Names)
    name = checked(form)["name"]
    return _asked(
        request,
        row,
        f"{row.name} is copied",
        lambda plan: editing.copy_assembly(plan, spot_of(row), (row.stage.name, name)),
        back=("stage", row.stage_id),
    )


@require_POST
def assembly_split(request: HttpRequest, pk: int) -> HttpResponse:
    """Some of its lines go to a new assembly of the same stage."""
    row = here(assembly_numbered, pk)
    page = _page(row)
    choices = page["splitting"].fields["chosen"].choices
    form = SplitOff(request.POST, choices=choices, auto_id="id_splitting_%s")
    keep(request, TEMPLATE, page | {"splitting": form})
    chosen = set(whole_numbers(request.POST.getlist("chosen")))
    name = checked(Names(request.POST))["name"]
    return _asked(
        request,
        row,
        f"{row.name} is split",
        lambda plan: numbering.split_assembly(plan, spot_of(row), name, chosen),
        back=("stage", row.stage_id),
        keeps=True,
    )


@require_POST
def assembly_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Without it and what it asks."""
    row = here(assembly_numbered, pk)
    keep(request, TEMPLATE, _page(row))
    return _asked(
        request,
        row,
        f"{row.name} is dropped",
        lambda plan: editing.drop_assembly(plan, spot_of(row)),
        back=("stage", row.stage_id),
    )
