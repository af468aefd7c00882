"""Importing a plan file: read it, show the difference, apply it or not."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.db import transaction

from inventory.catalog.actions import teach_callout
from inventory.catalog.models import Item
from inventory.catalog.queries import spelled
from inventory.errors import Refused
from inventory.ledger.actions.posting import want_recheck
from inventory.people.models import User
from inventory.planning.actions.editing import (
    keep,
    locked_build,
    units_of,
)
from inventory.planning.actions.writing import closed_ones
from inventory.planning.models import Need, PlanChange
from inventory.planning.queries import current_build
from inventory.planning.queries.stored import stored_plan
from inventory.planning.rules.compare import Change, FlatPlan, changes, plan_of
from inventory.planning.rules.editing import Edited
from inventory.planning.rules.lines import (
    BY_HAND,
    COLUMNS,
    LIST,
    BadRow,
    PlanLine,
    other_unit,
    parse,
)
from inventory.planning.rules.lists import list_of, replaced
from inventory.sheets import NOTHING_TOLD, Table, Told, known, look


@dataclass(frozen=True)
class Preview:
    """What a file would do: its bad rows, and the difference to the stored plan.

    `first` says that there is no plan yet, so that nothing can be overwritten. `origin`
    is the list the file is, `known` whether the plan has it, `lists` those it replaces:
    a file that names the list of every row may be several. `others` may be meant
    instead. `closed` are closed assemblies it would touch.
    """

    file_name: str
    sha256: str
    plan: FlatPlan
    bad: Sequence[BadRow]
    changes: Sequence[Change]
    first: bool
    origin: str
    lists: Sequence[str]
    others: Sequence[str]
    closed: Sequence[str]
    table: Table

    @property
    def known(self) -> bool:
        """Whether the plan has this list, so that its lines are replaced."""
        return any(name in self.others or not name for name in self.lists)

    @property
    def told(self) -> str:
        """The lists it is and what becomes of them, for the history."""
        names = ", ".join(name or BY_HAND for name in self.lists)
        return f"List {names}: {'replaced' if self.known else 'added'}"


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


def preview(
    *, name: str, data: bytes, origin: str = "", told: Told = NOTHING_TOLD
) -> Preview:
    """Read a plan file and compare it. Nothing is written.

    `origin` names the list it is; left out, it goes by the file's name, then by which
    list of the plan it resembles. Errors: `sheet.*`.
    """
    table = look(name, data, LIST, told)
    good, bad = parse(table.rows)
    good, odd = _by_unit(good)
    build = current_build()
    old = stored_plan(build)
    of = origin or list_of(old, plan_of(good), name)
    file = plan_of(good, of)
    lists = {of if row.origin is None else row.origin for row in good}
    new = replaced(old, file, lists)
    return Preview(
        file_name=name,
        sha256=hashlib.sha256(data).hexdigest(),
        plan=file,
        bad=[*bad, *odd],
        changes=changes(old, new),
        first=not old.starts,
        origin=of,
        lists=sorted(lists),
        others=old.lists,
        closed=closed_ones(build, old, Edited(new)),
        table=table,
    )


def _by_unit(lines: Sequence[PlanLine]) -> tuple[list[PlanLine], list[BadRow]]:
    """A thing is asked for in the unit it is kept in."""
    units = units_of(row.asks for row in lines if row.what is not None)
    good: list[PlanLine] = []
    bad: list[BadRow] = []
    for row in lines:
        unit = units.get(row.asks)
        if row.what is None or unit in (None, row.what.unit):
            good.append(row)
        elif row.unit:
            bad.append(BadRow(row.line, other_unit(row.what, unit)))
        else:
            good.append(replace(row, what=replace(row.what, unit=unit)))
    return good, bad


def apply(
    *,
    found: Preview,
    by: User,
    now: datetime,
    good_rows_only: bool = False,
    closed_too: bool = False,
) -> PlanChange | None:
    """Make what came from the file's list what the file says, in one transaction.

    None when the file changes nothing. Errors: `plan.bad_rows`,
    `planning.assembly_in_use`, `planning.closed_changes`,
    `planning.changed_meanwhile`.
    """
    known(found.file_name, found.table, COLUMNS)
    if found.bad and not good_rows_only:
        raise Refused(
            "plan.bad_rows",
            f"{len(found.bad)} rows cannot be taken: mend them and import again. "
            "Nothing was imported.",
            {"rows": [[row.line, row.sentence] for row in found.bad]},
        )
    with transaction.atomic():
        build = locked_build()
        old = stored_plan(build)
        new = replaced(old, found.plan, found.lists)
        differs = changes(old, new)
        if not differs:
            return None
        if differs != list(found.changes):
            raise Refused(
                "planning.changed_meanwhile",
                "The plan was changed since the file was looked at: look at it again. "
                "Nothing was imported.",
            )
        return keep(
            PlanChange(
                build=build,
                said=found.told[:240],
                file_name=found.file_name[:160],
                sha256=found.sha256,
                at=now,
                by=by,
            ),
            old,
            Edited(new),
            differs,
            closed_too=closed_too,
        )
