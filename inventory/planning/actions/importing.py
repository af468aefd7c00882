"""Importing a plan file: read it, show the difference, apply it or not."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from inventory.catalog.actions import item_for_callout, teach_callout
from inventory.catalog.models import Item
from inventory.catalog.queries import spelled
from inventory.errors import Refused
from inventory.ledger.actions.posting import want_recheck
from inventory.people.models import User
from inventory.planning.models import (
    PLANNED,
    Assembly,
    Build,
    Drilling,
    Need,
    PlanImport,
    Seam,
    Stage,
)
from inventory.planning.queries import current_build, stored_plan
from inventory.planning.rules.compare import Change, FlatPlan, changes, plan_of
from inventory.planning.rules.lines import COLUMNS, BadRow, parse
from inventory.sheets import read


@dataclass(frozen=True)
class Preview:
    """What a file would do: its bad rows, and the difference to the stored plan.

    `first` says that there is no plan yet, so that nothing can be overwritten.
    """

    file_name: str
    sha256: str
    plan: FlatPlan
    bad: Sequence[BadRow]
    changes: Sequence[Change]
    first: bool


def unread_callouts() -> list[str]:
    """Callouts of the plan that nobody could read: kept, and to be taught."""
    rows = Need.objects.filter(item__recognised=False).order_by("callout")
    return list(dict.fromkeys(rows.values_list("callout", flat=True)))


def teach(*, text: str, item: Item, by: User) -> int:
    """Say what a callout means; the needs its stand-in kept become the item's.

    Returns how many needs changed. Errors: `catalog.alias_taken`.
    """
    with transaction.atomic():
        stand_in = teach_callout(text=text, item=item)
        if stand_in is None:
            return 0
        want_recheck(item.pk, wide=True)
        return Need.objects.filter(item=stand_in, callout=spelled(text)).update(
            item=item
        )


def preview(*, name: str, data: bytes) -> Preview:
    """Read a plan file and compare it. Nothing is written. Errors: `sheet.*`."""
    good, bad = parse(read(name, data, COLUMNS))
    build = current_build()
    old, new = stored_plan(build), plan_of(good)
    return Preview(
        file_name=name,
        sha256=hashlib.sha256(data).hexdigest(),
        plan=new,
        bad=bad,
        changes=changes(old, new),
        first=not old.starts,
    )


def apply(
    *, found: Preview, by: User, now: datetime, good_rows_only: bool = False
) -> PlanImport | None:
    """Make the stored plan what the file says, in one transaction.

    None when the file changes nothing. Errors: `plan.bad_rows`,
    `planning.assembly_in_use`.
    """
    if found.bad and not good_rows_only:
        raise Refused(
            "plan.bad_rows",
            f"{len(found.bad)} rows cannot be taken: mend them and import again. "
            "Nothing was imported.",
            {"rows": [[row.line, row.sentence] for row in found.bad]},
        )
    if not found.changes:
        return None
    with transaction.atomic():
        build = current_build() or Build.objects.create(name="The aircraft")
        _write(build, found.plan)
        return PlanImport.objects.create(
            build=build,
            file_name=found.file_name[:160],
            sha256=found.sha256,
            changes=len(found.changes),
            at=now,
            by=by,
        )


def _write(build: Build, plan: FlatPlan) -> None:
    stages = {row.name: row for row in build.stages.all()}
    for position, (name, start) in enumerate(plan.starts.items(), start=1):
        stage = stages.setdefault(name, Stage(build=build, name=name))
        stage.position, stage.planned_start = position, start
        stage.save()
    rows = {
        (row.stage.name, row.name): row
        for row in Assembly.objects.filter(stage__build=build).select_related("stage")
    }
    for position, (key, how_many) in enumerate(plan.how_many.items(), start=1):
        row = rows.setdefault(key, Assembly(stage=stages[key[0]], name=key[1]))
        row.position, row.how_many = position, how_many
        row.save()
    _write_needs(build, plan, rows)
    _write_holes(build, plan, rows)
    _write_seams(build, plan, rows)
    _remove_the_rest(build, plan, rows)


def _write_needs(
    build: Build, plan: FlatPlan, rows: dict[tuple[str, str], Assembly]
) -> None:
    old = {
        (need.assembly.stage.name, need.assembly.name, need.callout): need
        for need in Need.objects.filter(assembly__stage__build=build).select_related(
            "assembly__stage"
        )
    }
    for key, each in plan.needs.items():
        need = old.pop(key, None)
        if need is None:
            item = item_for_callout(text=key[2])
            Need.objects.create(
                assembly=rows[key[0], key[1]], item=item, callout=key[2], each=each
            )
            want_recheck(item.pk, wide=True)
        elif need.each != each:
            Need.objects.filter(pk=need.pk).update(each=each)
            want_recheck(need.item_id, wide=True)
    for need in old.values():
        want_recheck(need.item_id, wide=True)
        need.delete()


def _write_holes(
    build: Build, plan: FlatPlan, rows: dict[tuple[str, str], Assembly]
) -> None:
    Drilling.objects.filter(assembly__stage__build=build).delete()
    Drilling.objects.bulk_create(
        [
            Drilling(
                assembly=rows[key[0], key[1]],
                hole_size=key[2],
                operation=key[3],
                every_nth=key[4],
                days_held=key[5],
                holes_each=holes,
            )
            for key, holes in plan.holes.items()
        ]
    )


def _write_seams(
    build: Build, plan: FlatPlan, rows: dict[tuple[str, str], Assembly]
) -> None:
    Seam.objects.filter(assembly__stage__build=build).delete()
    Seam.objects.bulk_create(
        [
            Seam(
                assembly=rows[key[0], key[1]],
                callout=key[2],
                given=json.loads(key[3]),
                rivets=found.rivets,
                rule=found.rule,
            )
            for key, found in plan.seams.items()
        ]
    )


def _remove_the_rest(
    build: Build, plan: FlatPlan, rows: dict[tuple[str, str], Assembly]
) -> None:
    """Take away what the file no longer names, unless pieces were pulled for it."""
    for key, row in rows.items():
        if key in plan.how_many:
            continue
        if row.state != PLANNED:
            raise Refused(
                "planning.assembly_in_use",
                f"{row.name} ({key[0]}) is no longer in the file, but pieces were "
                "pulled for it: keep its rows, or skip its stage. Nothing was imported.",
                {"assembly": row.pk},
            )
        row.delete()
    build.stages.exclude(name__in=list(plan.starts)).delete()
