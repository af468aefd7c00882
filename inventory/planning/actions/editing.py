"""Changing the plan by hand: look at the difference, apply it, take it back.

A file's change goes the same way (`importing`): one comparison, one writer, one history.
"""

import hashlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.people.models import User
from inventory.planning.actions.writing import closed_ones, refuse_closed, write
from inventory.planning.models import Build, PlanChange, Stage
from inventory.planning.queries import current_build
from inventory.planning.queries.stored import change_numbered, stored_plan
from inventory.planning.rules import editing
from inventory.planning.rules.compare import Change, FlatPlan, Spot, changes
from inventory.planning.rules.editing import Edited, mark
from inventory.planning.rules.lines import other_unit
from inventory.planning.rules.patching import patch_of, taken_back

SENTENCES = 400
Edit = Callable[[FlatPlan], FlatPlan | Edited]


@dataclass(frozen=True)
class Seen:
    """What a page showed: a stage, an assembly or the stages, and its mark then."""

    spot: Spot
    mark: str


@dataclass(frozen=True)
class Looked:
    """What an edit would do. `asks`: it takes something away or touches what is closed."""

    changes: Sequence[str]
    closed: Sequence[str]
    drops: bool

    @property
    def asks(self) -> bool:
        """Whether somebody has to say yes first."""
        return self.drops or bool(self.closed)

    @property
    def mark(self) -> str:
        """The same for the same difference: what was looked at is what is applied."""
        return hashlib.sha256("\n".join(self.changes).encode()).hexdigest()


def look(*, edit: Edit, seen: Seen | None = None) -> Looked:
    """What an edit would do; nothing is written.

    Errors: `planning.changed_meanwhile`, and the edit's own.
    """
    build = current_build()
    old = stored_plan(build)
    edited, found = _edited(old, edit, seen)
    return Looked(
        changes=[each.sentence for each in found],
        closed=closed_ones(build, old, edited),
        drops=any(not each.after for each in found),
    )


def change(
    *,
    edit: Edit,
    said: str,
    by: User,
    now: datetime,
    seen: Seen | None = None,
    closed_too: bool = False,
) -> PlanChange | None:
    """Change the plan by hand, in one transaction; None when nothing would change.

    `seen` is what the page showed. Errors: `planning.changed_meanwhile`,
    `planning.closed_changes`, `planning.assembly_in_use`, and the edit's own.
    """
    with transaction.atomic():
        build = locked_build()
        old = stored_plan(build)
        edited, found = _edited(old, edit, seen)
        if not found:
            return None
        return keep(
            PlanChange(build=build, said=said[:240], at=now, by=by),
            old,
            edited,
            found,
            closed_too=closed_too,
        )


def back_of(change: PlanChange) -> Edit:
    """What takes a change back, where nothing changed its lines since.

    Errors: `planning.taken_back`; later `planning.changed_since`.
    """
    if change.patch is None or change.taken_back_at is not None:
        raise Refused(
            "planning.taken_back",
            "This change was taken back already."
            if change.taken_back_at
            else "This change is older than what is kept to take it back.",
        )
    patch = change.patch
    return lambda plan: taken_back(plan, patch)


def take_back(
    *, change: PlanChange, by: User, now: datetime, closed_too: bool = False
) -> None:
    """Put back what a change changed: a change of its own, to be taken back in turn.

    Errors: `planning.taken_back`, `planning.changed_since`, `planning.closed_changes`,
    `planning.assembly_in_use`.
    """
    with transaction.atomic():
        build = locked_build()
        row = change_numbered(change.pk)
        old = stored_plan(build)
        edited, found = _edited(old, back_of(row), None)
        keep(
            PlanChange(build=build, said=f"Taken back: {row}"[:240], at=now, by=by),
            old,
            edited,
            found,
            closed_too=closed_too,
        )
        PlanChange.objects.filter(pk=row.pk).update(taken_back_at=now, taken_back_by=by)


def locked_build() -> Build:
    """The aircraft, made where there is none; one change of its plan at a time."""
    build = current_build() or Build.objects.create(name="The aircraft")
    return Build.objects.select_for_update().get(pk=build.pk)


def keep(
    row: PlanChange,
    old: FlatPlan,
    edited: Edited,
    found: Sequence[Change],
    *,
    closed_too: bool,
) -> PlanChange:
    """Write a change and its history, inside the caller's transaction."""
    if not closed_too:
        refuse_closed(closed_ones(row.build, old, edited))
    write(row.build, old, edited)
    row.changes = len(found)
    row.sentences = [each.sentence for each in found[:SENTENCES]]
    row.patch = patch_of(old, edited.plan, edited.moved)
    row.save()
    return row


def _edited(
    old: FlatPlan, edit: Edit, seen: Seen | None
) -> tuple[Edited, list[Change]]:
    if seen is not None and mark(old, seen.spot) != seen.mark:
        what = seen.spot[-1] if seen.spot else "The order of the stages"
        raise Refused(
            "planning.changed_meanwhile",
            f"{what} was changed since this page was opened. It stands here as it is "
            "now: look, and change it again. Nothing was changed.",
        )
    new = edit(old)
    edited = new if isinstance(new, Edited) else Edited(new)
    added = {key: row for key, row in edited.plan.what.items() if key not in old.what}
    for key, unit in units_of(added).items():
        if unit != added[key].unit:
            raise Refused("planning.unit", other_unit(added[key], unit))
    before = editing.renamed(old, edited.moved)
    names = [
        Change("name", " / ".join(was), " / ".join(was), " / ".join(now))
        for was, now in edited.moved.items()
    ]
    return edited, names + changes(before, edited.plan)


def units_of(keys: Iterable[str]) -> dict[str, str]:
    """The units that described things are kept in, as far as the shop knows them."""
    rows = Item.objects.filter(key__in=set(keys))
    return dict(rows.values_list("key", "unit"))


def redate(
    *,
    stage: Stage,
    start: date | None,
    by: User,
    now: datetime,
    shift_later: bool = False,
) -> int:
    """Give a stage a new date; with `shift_later`, what follows moves as far.

    Returns the number of stages that moved.
    """
    said = f"{stage.name}: another date"
    row = change(
        edit=lambda plan: editing.change_stage(
            plan, stage.name, stage.name, start, shift_later=shift_later
        ),
        said=said,
        by=by,
        now=now,
    )
    return row.changes if row else 0


def skip(*, stage: Stage, skipped: bool, by: User, now: datetime) -> None:
    """Leave a stage out of the forecast, or put it back. What was pulled stays."""
    change(
        edit=lambda plan: editing.skip_stage(plan, stage.name, skipped),
        said=f"{stage.name}: {'skipped' if skipped else 'put back in the plan'}",
        by=by,
        now=now,
    )


def move_stage(*, stage: Stage, places: int, by: User, now: datetime) -> None:
    """Move a stage up (negative) or down by so many places."""
    change(
        edit=lambda plan: editing.place_stage(plan, stage.name, places),
        said=f"{stage.name}: moved {'up' if places < 0 else 'down'}",
        by=by,
        now=now,
    )
