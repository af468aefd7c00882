"""Reads of the plan: needs, what was pulled for them, dated stages."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime
from typing import TYPE_CHECKING, TypedDict

from django.db.models import Count, Min, Q, QuerySet, Sum
from django_stubs_ext import WithAnnotations

from inventory.errors import Refused
from inventory.ledger.queries import pulled_by_day, quantities_at
from inventory.planning.models import (
    CLOSED,
    IN_WORK,
    PLANNED,
    Assembly,
    Build,
    Drilling,
    Need,
    Seam,
    Stage,
)
from inventory.planning.queries.asking import stood_in
from inventory.planning.rules.dating import Dated, StageFacts, date_stages
from inventory.planning.rules.pace import Pace, pace_of
from inventory.planning.rules.reasons import Reason
from inventory.planning.rules.seaming import seam_source
from inventory.planning.rules.whatif import WhatIf, supposed
from inventory.prepared import Prepared

_NUMBERED = Prepared(
    lambda pk: Assembly.objects.select_related("stage__build", "place").filter(pk=pk)
)


def current_build() -> Build | None:
    """The aircraft the shop works on: the one last added."""
    return Build.objects.order_by("-pk").first()


class StageCounts(TypedDict):
    """What a stage's assemblies come to."""

    total: int
    closed: int
    in_work: int
    started_at: datetime | None


if TYPE_CHECKING:
    CountedStage = WithAnnotations[Stage, StageCounts]
else:
    CountedStage = Stage


def stages(build: Build | None) -> QuerySet[CountedStage, CountedStage]:
    """Stages in order, with counts of their assemblies by state."""
    return (
        Stage.objects.filter(build=build)
        .annotate(
            total=Count("assemblies"),
            closed=Count("assemblies", filter=Q(assemblies__state=CLOSED)),
            in_work=Count("assemblies", filter=Q(assemblies__state=IN_WORK)),
            started_at=Min("assemblies__started_at"),
        )
        .order_by("position", "pk")
    )


def shop_pace() -> Pace:
    """Pieces a day that this shop sets, from what was pulled for assemblies."""
    return pace_of(pulled_by_day())


def dated(
    build: Build | None, today: date, pace_days: int, what: WhatIf | None = None
) -> list[Dated]:
    """Every stage with its dates (units: days), as they are or as supposed."""
    pace, left = shop_pace(), remaining_by_stage(build)
    facts = [
        StageFacts(
            pk=row.pk,
            planned_start=row.planned_start,
            started_on=row.started_at.date() if row.started_at else None,
            finished=row.total > 0 and row.closed == row.total,
            skipped=row.skipped,
            work_days=pace.days_for(sum(left.get(row.pk, {}).values())),
        )
        for row in stages(build)
    ]
    if what is None:
        return date_stages(facts, today, pace_days)
    return date_stages(supposed(facts, what, today), today, pace_days, what.away_days)


def assemblies_like(text: str, limit: int) -> list[Assembly]:
    """Assemblies whose name, or whose stage's, holds every word."""
    rows = Assembly.objects.select_related("stage").order_by("stage__position", "pk")
    for word in text.split()[:8]:
        rows = rows.filter(Q(name__icontains=word) | Q(stage__name__icontains=word))
    return list(rows[:limit])


def assembly_numbered(pk: int) -> Assembly:
    """Errors: `planning.no_assembly`."""
    row = _NUMBERED.first(pk)
    if row is None:
        raise Refused(
            "planning.no_assembly",
            f"There is no assembly {pk} in the plan: choose one from the list.",
            {"assembly": pk},
        )
    return row


def stage_numbered(pk: int) -> Stage:
    """Errors: `planning.no_stage`."""
    row = Stage.objects.select_related("build").filter(pk=pk).first()
    if row is None:
        raise Refused("planning.no_stage", f"There is no stage {pk} in the plan.")
    return row


def why_needed(item_id: int, assembly: Assembly | None = None) -> Reason:
    """Why so many of an item are needed: by assembly, then by line, down to the seam.

    Over the current build's stages that count, or for one assembly.
    """
    needs = Need.objects.filter(item_id=item_id).select_related(
        "assembly__stage", "item"
    )
    if assembly is None:
        build = current_build()
        needs = needs.filter(
            assembly__stage__build=build, assembly__stage__skipped=False
        ).order_by("assembly__stage__position", "assembly__position", "pk")
    else:
        needs = needs.filter(assembly=assembly)
    seams: dict[tuple[int, str], list[Seam]] = defaultdict(list)
    for seam in Seam.objects.filter(assembly__in=[need.assembly_id for need in needs]):
        seams[seam.assembly_id, seam.callout].append(seam)
    parts = tuple(
        _why_line(need, seams[need.assembly_id, need.callout]) for need in needs
    )
    return Reason(
        sum(part.number for part in parts), "needed by the plan", "plan file", parts
    )


def _why_line(need: Need, seams: list[Seam]) -> Reason:
    """One assembly's need: times made, each by its seams and by what the file counts."""
    assembly = need.assembly
    parts = [
        Reason(seam.rivets, seam.rule, seam_source(seam.given), ()) for seam in seams
    ]
    counted = need.each - sum(part.number for part in parts)
    if counted:
        parts.append(
            Reason(counted, f"{need.callout or need.item.words}, counted in the plan")
        )
    where = f"{assembly.stage.name} / {assembly.name}"
    times = f", made {assembly.how_many} times" if assembly.how_many > 1 else ""
    return Reason(
        need.each * assembly.how_many,
        f"{where}: {need.each} each{times}",
        "plan file",
        tuple(parts),
    )


def remaining_by_stage(build: Build | None) -> dict[int, dict[int, int]]:
    """Still to pull, by stage and item, over assemblies that are not closed."""
    totals: dict[tuple[int, int | None, int, int], int] = defaultdict(int)
    rows = Need.objects.filter(
        assembly__stage__build=build, assembly__stage__skipped=False
    ).exclude(assembly__state=CLOSED)
    for row in rows.values_list(
        "assembly__stage_id",
        "assembly__place_id",
        "assembly_id",
        "item_id",
        "each",
        "assembly__how_many",
    ):
        totals[row[0], row[1], row[2], row[3]] += row[4] * row[5]
    there = quantities_at({place for _stage, place, *_ in totals if place})
    instead = stood_in(sorted({assembly for _, _, assembly, _ in totals}))
    found: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    for (stage, place, _assembly, item), need in totals.items():
        key = (place or 0, item)
        left = need - there.get(key, 0) - instead.get(key, 0)
        found[stage][item] += max(0, left)
    return {stage: dict(items) for stage, items in found.items()}


def asked_at_once() -> dict[int, int]:
    """What the largest open assembly asks, by item: no burst of rework outlasts it."""
    rows = (
        Need.objects.exclude(assembly__state=CLOSED)
        .values("item_id", "assembly_id", "assembly__how_many")
        .annotate(each=Sum("each"))
    )
    found: dict[int, int] = defaultdict(int)
    for row in rows:
        asked = row["each"] * row["assembly__how_many"]
        found[row["item_id"]] = max(asked, found[row["item_id"]])
    return dict(found)


def drillings(build: Build | None) -> QuerySet[Drilling]:
    """Every hole row of the stages that count."""
    return Drilling.objects.filter(
        assembly__stage__build=build, assembly__stage__skipped=False
    ).select_related("assembly__stage")


def open_assemblies(build: Build | None) -> QuerySet[Assembly]:
    """What can be pulled for: in work first, then planned, in the plan's order."""
    return (
        Assembly.objects.filter(stage__build=build, stage__skipped=False)
        .filter(state__in=[IN_WORK, PLANNED])
        .select_related("stage", "place")
        .order_by("state", "stage__position", "position")
    )


def waiting_for(item_ids: Iterable[int]) -> dict[int, list[str]]:
    """The assemblies that wait for an item, by item: in the plan's order."""
    found: dict[int, list[str]] = defaultdict(list)
    rows = (
        Need.objects.filter(item__in=list(item_ids), assembly__stage__skipped=False)
        .exclude(assembly__state=CLOSED)
        .order_by("assembly__stage__position", "assembly__position")
        .values_list("item_id", "assembly__stage__name", "assembly__name")
    )
    for item, stage, assembly in rows:
        name = f"{stage} / {assembly}"
        if name not in found[item]:
            found[item].append(name)
    return dict(found)
