"""What happens to stages and assemblies: pulled for, closed, moved, skipped, dated."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime

from django.db import transaction

from inventory.errors import Refused
from inventory.ledger.actions.bins import open_place
from inventory.ledger.actions.posting import Ask, want_recheck
from inventory.ledger.actions.verbs import tools_back
from inventory.ledger.queries import Place
from inventory.people.models import User
from inventory.planning.models import (
    CLOSED,
    IN_WORK,
    PLANNED,
    Assembly,
    CloseUp,
    Need,
    Stage,
)
from inventory.planning.queries.closing import record_of
from inventory.planning.rules.dating import shift
from inventory.prepared import Prepared


def place_to_pull_for(*, assembly: Assembly, by: User, now: datetime) -> Place:
    """The assembly's place; its first pull puts it in work.

    Errors: `planning.closed` when it was closed: re-open it first.
    """
    with transaction.atomic():
        (row,) = _LOCKED(assembly.pk)
        if row.state == CLOSED:
            raise Refused(
                "planning.closed",
                f"{row.name} is closed: re-open it on its page, or choose another.",
                {"assembly": row.pk},
            )
        place = row.place or open_place(
            kind="assembly", name=f"{row.stage.name} / {row.name}"
        )
        if row.state == PLANNED or row.place is None:
            row.place = place
            if row.state == PLANNED:
                row.state, row.started_at, row.started_by = IN_WORK, now, by
                _recheck(row)
            row.save(update_fields=["place", "state", "started_at", "started_by"])
        assembly.place, assembly.state = place, row.state
    return place


_LOCKED = Prepared(
    lambda pk: (
        Assembly.objects.select_for_update(of=("self",))
        .select_related("stage", "place")
        .filter(pk=pk)
    )
)


def close(
    *,
    assembly: Assembly,
    by: User,
    now: datetime,
    note: str = "",
    tools: Sequence[Mapping[str, object]] = (),
) -> CloseUp:
    """Close an assembly: its record becomes evidence, its fasteners are free.

    Tools still recorded at it go back to their bins, and those bins are to be counted:
    what was left inside shows before the next stage. `tools` is what was said of those
    that were out, kept in the record. Errors: `planning.not_in_work`.
    """
    with transaction.atomic():
        record = {**record_of(assembly), "tools": list(tools)}
        changed = Assembly.objects.filter(pk=assembly.pk, state=IN_WORK).update(
            state=CLOSED, closed_at=now, closed_by=by
        )
        if changed and assembly.place is not None:
            tools_back(place=assembly.place, ask=Ask(by, now, reason="closing"))
        if changed:
            _recheck(assembly)
            return CloseUp.objects.create(
                assembly=assembly, at=now, by=by, note=note, record=record
            )
    raise Refused(
        "planning.not_in_work",
        f"{assembly.name} is {assembly.get_state_display()}: only an assembly in work "
        "can be closed.",
        {"assembly": assembly.pk},
    )


def reopen(*, assembly: Assembly, by: User, now: datetime) -> None:
    """Put a closed assembly back in work; its record stands. Errors as `close`."""
    changed = Assembly.objects.filter(pk=assembly.pk, state=CLOSED).update(
        state=IN_WORK, closed_at=None, closed_by=None
    )
    if not changed:
        raise Refused(
            "planning.not_closed", f"{assembly.name} is not closed: nothing to re-open."
        )
    _recheck(assembly)


def redate(
    *, stage: Stage, start: date | None, by: User, shift_later: bool = False
) -> int:
    """Give a stage a new date; with `shift_later`, what follows moves as far.

    Returns the number of stages that moved.
    """
    with transaction.atomic():
        before = stage.planned_start
        stage.planned_start = start
        stage.save(update_fields=["planned_start"])
        moved = 1
        if shift_later and before and start:
            later = stage.build.stages.filter(position__gt=stage.position)
            for row in later.exclude(planned_start=None):
                row.planned_start = shift(row.planned_start, (start - before).days)
                row.save(update_fields=["planned_start"])
                moved += 1
        _recheck_stage(stage)
    return moved


def skip(*, stage: Stage, skipped: bool, by: User) -> None:
    """Leave a stage out of the forecast, or take it in again. What was pulled stays."""
    with transaction.atomic():
        Stage.objects.filter(pk=stage.pk).update(skipped=skipped)
        stage.skipped = skipped
        _recheck_stage(stage)


def reorder(*, stages: Sequence[Stage], by: User) -> None:
    """Put a build's stages in this order. Errors: `planning.order`."""
    build = stages[0].build if stages else None
    every = set(build.stages.values_list("pk", flat=True)) if build else set()
    if {row.pk for row in stages} != every or len(stages) != len(every):
        raise Refused(
            "planning.order", "Name every stage of the build once, in the new order."
        )
    with transaction.atomic():
        for position, row in enumerate(stages, start=1):
            Stage.objects.filter(pk=row.pk).update(position=position)
        for row in stages:
            _recheck_stage(row)


def move_stage(*, stage: Stage, places: int, by: User) -> None:
    """Move a stage up (negative) or down by so many places."""
    rows = list(stage.build.stages.order_by("position", "pk"))
    at = next(i for i, row in enumerate(rows) if row.pk == stage.pk)
    to = min(max(0, at + places), len(rows) - 1)
    rows.insert(to, rows.pop(at))
    reorder(stages=rows, by=by)


def _recheck(assembly: Assembly) -> None:
    """Its state says when stages run, or what was spoiled: that concerns every item."""
    for item in sorted(set(assembly.needs.values_list("item_id", flat=True))):
        want_recheck(item, wide=True)


def _recheck_stage(stage: Stage) -> None:
    needs = Need.objects.filter(assembly__stage=stage)
    for item in sorted(set(needs.order_by().values_list("item_id", flat=True))):
        want_recheck(item, wide=True)
