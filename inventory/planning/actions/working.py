"""What happens to an assembly at work: pulled for, closed, re-opened."""

from collections.abc import Mapping, Sequence
from datetime import datetime

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
    MAX_NOTE,
    PLANNED,
    Assembly,
    CloseUp,
    Reopening,
)
from inventory.planning.queries.closing import record_of
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
        place = row.place or open_place(kind="assembly", name=row.place_name)
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


def reopen(*, assembly: Assembly, by: User, now: datetime, note: str = "") -> None:
    """Put a closed assembly back in work; its record stands.

    Errors: as `close`, and `planning.note`.
    """
    if len(note.strip()) > MAX_NOTE:
        raise Refused(
            "planning.note",
            f"The reason is over {MAX_NOTE} characters long: shorten it.",
        )
    with transaction.atomic():
        changed = Assembly.objects.filter(pk=assembly.pk, state=CLOSED).update(
            state=IN_WORK, closed_at=None, closed_by=None
        )
        if not changed:
            raise Refused(
                "planning.not_closed",
                f"{assembly.name} is not closed: nothing to re-open.",
            )
        Reopening.objects.create(assembly=assembly, at=now, by=by, note=note.strip())
        _recheck(assembly)


def _recheck(assembly: Assembly) -> None:
    """Its state says when stages run, or what was spoiled: that concerns every item."""
    for item in sorted(set(assembly.needs.values_list("item_id", flat=True))):
        want_recheck(item, wide=True)
