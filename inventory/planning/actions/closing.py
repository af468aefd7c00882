"""The close-up: nothing stays inside unnamed, nothing unused stays out of its bin."""

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from inventory.errors import Refused
from inventory.ledger.actions import verbs
from inventory.ledger.actions.posting import Ask
from inventory.ledger.queries import Bin, bins_of
from inventory.people.models import User
from inventory.planning.actions.working import close
from inventory.planning.models import Assembly, CloseUp
from inventory.planning.queries.closing import close_up
from inventory.planning.rules.closing import FATES, Left, Used


def close_after_looking(
    *,
    assembly: Assembly,
    left: Sequence[Left],
    by: User,
    now: datetime,
    note: str = "",
) -> CloseUp:
    """Return what was not used, account for every tool, keep the record, close.

    Errors: `planning.tools_out` for a tool that nobody accounted for, `planning.too_many`,
    `planning.no_bin`, `planning.not_in_work`; nothing is booked then.
    """
    said = {each.item: each for each in left}
    with transaction.atomic():
        looked = close_up(assembly)
        tools = [
            _tool(assembly, row, said.get(row.item), Ask(by, now))
            for row in looked.tools
        ]
        for row in looked.surplus:
            back = said[row.item].back if row.item in said else 0
            _return(assembly, row, back, Ask(by, now, reason="not used"))
        return close(assembly=assembly, by=by, now=now, note=note, tools=tools)


def _tool(
    assembly: Assembly, row: Used, said: Left | None, ask: Ask
) -> dict[str, object]:
    """Book what came back of a tool and what became of the rest."""
    back = said.back if said else 0
    rest = row.here - back
    if rest > 0 and (said is None or said.fate not in FATES):
        raise Refused(
            "planning.tools_out",
            f"{rest} of {row.words} are still out: look inside, then say how many are "
            "back and what became of the others. Nothing was closed.",
            {"item": row.item, "out": row.here, "back": back},
        )
    _return(assembly, row, back, Ask(ask.by, ask.now, reason="closing"))
    fate = FATES[said.fate] if said and rest else ""
    if rest > 0 and assembly.place is not None:
        verbs.scrap(
            bin=_bin_of(row),
            quantity=rest,
            from_=assembly.place,
            ask=Ask(ask.by, ask.now, reason=f"{fate}, {assembly.name}"),
        )
    return {"words": row.words, "out": row.here, "back": back, "fate": fate}


def _return(assembly: Assembly, row: Used, back: int, ask: Ask) -> None:
    if back > row.here:
        raise Refused(
            "planning.too_many",
            f"{back} of {row.words} cannot come back: {row.here} are noted at "
            f"{assembly.name}. If the record is wrong, scan the return at the bench.",
            {"item": row.item, "back": back},
        )
    if back and assembly.place is not None:
        verbs.give_back(bin=_bin_of(row), quantity=back, from_=assembly.place, ask=ask)


def _bin_of(row: Used) -> Bin:
    found = bins_of([row.item])
    if not found:
        raise Refused(
            "planning.no_bin",
            f"No bin holds {row.words}: make one, then close. Nothing was closed.",
            {"item": row.item},
        )
    return found[0]
