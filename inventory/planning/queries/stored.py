"""The plan as it stands, flat; and each change that made it so."""

from django.db.models import QuerySet

from inventory.catalog.models import Item
from inventory.catalog.rules import Description
from inventory.errors import Refused
from inventory.planning.models import (
    CLOSED,
    Assembly,
    Build,
    Drilling,
    Need,
    PlanChange,
    Seam,
    Stage,
)
from inventory.planning.rules.compare import FlatPlan, HoleKey, SeamSum, as_text


def stored_plan(build: Build | None) -> FlatPlan:
    """The plan as it stands, to compare with a file or to change by hand."""
    return _with_lines(build, Assembly.objects.filter(stage__build=build))


def stored_assembly(row: Assembly) -> FlatPlan:
    """The plan with the lines of one assembly only, to look at that one."""
    return _with_lines(row.stage.build, Assembly.objects.filter(pk=row.pk))


def _with_lines(build: Build | None, assemblies: QuerySet[Assembly]) -> FlatPlan:
    plan = stored_stages(build)
    for read in (_read_needs, _read_seams, _read_holes):
        read(assemblies, plan)
    return plan


def stored_stages(build: Build | None) -> FlatPlan:
    """The plan's stages and assemblies without what they ask."""
    plan = FlatPlan()
    for stage in Stage.objects.filter(build=build).order_by("position", "pk"):
        plan.starts[stage.name] = stage.planned_start
        plan.made_by[stage.name,] = stage.origin
        if stage.skipped:
            plan.skipped.add(stage.name)
    for name, assembly, how_many, origin in Assembly.objects.filter(
        stage__build=build
    ).values_list("stage__name", "name", "how_many", "origin"):
        plan.how_many[name, assembly] = how_many
        plan.made_by[name, assembly] = origin
    return plan


def lists_of(build: Build | None) -> list[str]:
    """The lists a plan came from, by name."""
    found: set[str] = set()
    rows = Assembly.objects.filter(stage__build=build)
    found |= set(Stage.objects.filter(build=build).values_list("origin", flat=True))
    found |= set(rows.values_list("origin", flat=True))
    for each in ("needs", "seams", "drillings"):
        found |= set(
            rows.order_by().values_list(f"{each}__origin", flat=True).distinct()
        )
    return sorted(name for name in found if name)


def asked_as(need: Need) -> str:
    """What a need asks for as the plan spells it: its callout, else its description."""
    return need.callout or need.item.key


def description_of(item: Item) -> Description:
    """What a list would have to say to mean this item."""
    sort = item.sort
    return Description(
        kind=item.kind,
        size=item.size,
        form=item.form,
        name="" if sort.sized else item.words,
        unit=item.unit,
        traits=tuple(
            (name, str(item.traits[name]))
            for name in sort.details
            if item.traits.get(name)
        ),
    )


def _read_needs(assemblies: QuerySet[Assembly], plan: FlatPlan) -> None:
    rows = Need.objects.filter(assembly__in=assemblies.order_by())
    for stage, name, callout, key, origin, each in rows.values_list(
        "assembly__stage__name",
        "assembly__name",
        "callout",
        "item__key",
        "origin",
        "each",
    ):
        plan.needs[stage, name, callout or key, origin] = each
    described = rows.order_by().filter(callout="").values("item")
    for item in Item.objects.filter(pk__in=described):
        plan.what[item.key] = description_of(item)


def _read_seams(assemblies: QuerySet[Assembly], plan: FlatPlan) -> None:
    rows = Seam.objects.filter(assembly__in=assemblies.order_by())
    for seam in rows.select_related("assembly__stage"):
        where = (seam.assembly.stage.name, seam.assembly.name)
        plan.seams[(*where, seam.callout, as_text(seam.given), seam.origin)] = SeamSum(
            seam.rivets, seam.rule, seam.days_held
        )


def _read_holes(assemblies: QuerySet[Assembly], plan: FlatPlan) -> None:
    rows = Drilling.objects.filter(assembly__in=assemblies.order_by())
    for *key, holes in rows.values_list(
        "assembly__stage__name",
        "assembly__name",
        "hole_size",
        "operation",
        "every_nth",
        "days_held",
        "origin",
        "holes_each",
    ):
        hole: HoleKey = tuple(key)  # type: ignore[assignment]
        plan.holes[hole] = plan.holes.get(hole, 0) + holes


def closed_spots(build: Build | None) -> set[tuple[str, str]]:
    """Stage and name of every assembly that was closed."""
    rows = Assembly.objects.filter(stage__build=build, state=CLOSED)
    return set(rows.values_list("stage__name", "name"))


def plan_changes(
    build: Build | None, count: int, before: int | None = None
) -> QuerySet[PlanChange]:
    """The changes of a plan, the newest first, without what they held."""
    rows = PlanChange.objects.filter(build=build)
    if before is not None:
        rows = rows.filter(pk__lt=before)
    return rows.select_related("by", "taken_back_by").defer("patch")[:count]


def change_numbered(pk: int) -> PlanChange:
    """Errors: `planning.no_change`."""
    row = PlanChange.objects.select_related("build").filter(pk=pk).first()
    if row is None:
        raise Refused("planning.no_change", f"There is no change {pk} of the plan.")
    return row
