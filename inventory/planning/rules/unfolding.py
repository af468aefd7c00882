"""The plan as rows of its own file: what is downloaded is imported without a change."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from inventory.catalog.rules import TRAITS
from inventory.errors import Refused
from inventory.planning.rules import seaming
from inventory.planning.rules.compare import FlatPlan, SeamKey, SeamSum
from inventory.planning.rules.lines import BY_HAND, COLUMNS
from inventory.sheets import Row, csv_text, xlsx_bytes

Cells = dict[str, object]
Left = dict[Any, int]


def rows_of(plan: FlatPlan) -> list[list[object]]:
    """Every line of the plan under the file's columns, stage by stage."""
    found: list[Cells] = []
    by_place = by_spot(plan)
    for stage, start in plan.starts.items():
        head: Cells = {"stage": stage, "start": start.isoformat() if start else ""}
        own = plan.made_by.get((stage,), "")
        spots = plan.within(stage)
        if not spots:
            found.append(head | {"each": 0, "list": own or BY_HAND})
        for spot in spots:
            place = head | {"assembly": spot[1], "how_many": plan.how_many[spot]}
            own = plan.made_by.get(spot, "")
            lines = [
                place | row for row in _lines(plan, by_place.get(spot, FlatPlan()))
            ]
            found += lines or [place | {"each": 0, "list": own or BY_HAND}]
    return [[row.get(column, "") for column in COLUMNS] for row in found]


def plan_csv(plan: FlatPlan) -> str:
    """The plan as CSV text."""
    return csv_text(COLUMNS, rows_of(plan))


def plan_xlsx(plan: FlatPlan) -> bytes:
    """The plan as XLSX."""
    return xlsx_bytes(COLUMNS, rows_of(plan))


def by_spot(plan: FlatPlan) -> Mapping[tuple[str, str], FlatPlan]:
    """The lines of each assembly."""
    found: dict[tuple[str, str], FlatPlan] = defaultdict(FlatPlan)
    for need, each in plan.needs.items():
        found[need[0], need[1]].needs[need] = each
    for hole, holes in plan.holes.items():
        found[hole[0], hole[1]].holes[hole] = holes
    for seam, row in plan.seams.items():
        found[seam[0], seam[1]].seams[seam] = row
    return found


def _lines(plan: FlatPlan, here: FlatPlan) -> list[Cells]:
    """One assembly's rows: its seams first, then what they leave to be counted."""
    needs: Left = dict(here.needs)
    holes: Left = dict(here.holes)
    seams = sorted(here.seams.items(), key=lambda pair: -pair[1].rivets)
    found = [row for key, seam in seams for row in seam_rows(key, seam, needs, holes)]
    for key, each in needs.items():
        if each:
            found.append(_asked(plan, str(key[2])) | {"each": each, "list": key[-1]})
    for key, number in holes.items():
        if number:
            found.append(
                {
                    "hole_size": key[2],
                    "holes": number,
                    "operation": key[3],
                    "fasten_every": key[4],
                    "days_held": key[5],
                    "list": key[-1],
                }
            )
    return [row | {"list": row["list"] or BY_HAND} for row in found]


def _asked(plan: FlatPlan, asks: str) -> Cells:
    what = plan.what.get(asks)
    if what is None:
        return {"callout": asks}
    traits = dict(what.traits)
    return {
        "kind": what.kind,
        "size": what.size,
        "form": what.form,
        "name": what.name,
        "unit": what.unit,
        **{name: traits.get(name, "") for name in TRAITS},
    }


def drilled(given: Mapping[str, str]) -> seaming.Seamed:
    """What a stored seam takes, by the rules of today. Errors: `plan.row`."""
    return seaming.seamed(Row(0, given_as_cells(given)))


def given_as_cells(given: Mapping[str, str]) -> dict[str, str]:
    """A seam's texts under the file's columns."""
    columns = {name: column for column, name in seaming.COLUMNS.items()}
    columns["hold_every"] = "fasten_every"
    return {columns.get(name, name): text for name, text in given.items()}


def seam_rows(key: SeamKey, seam: SeamSum, needs: Left, holes: Left) -> list[Cells]:
    """The rows of seams given alike; their rivets and holes are taken out of the counts.

    What no longer adds up (a rule that changed) stays counted, without its seam.
    """
    given = seaming.as_given(key[3])
    need = (*key[:3], key[-1])
    found: list[Cells] = []
    left = seam.rivets
    while left > 0:
        try:
            one = drilled(given)
        except Refused:
            break
        days = _days(key, one, replace(seam, rivets=left), holes)
        if days is None or one.rivets > min(left, needs.get(need, 0)):
            break
        left -= one.rivets
        needs[need] -= one.rivets
        for hole in holes_of(key, one, days):
            holes[hole] -= one.rivets
        found.append({**given_as_cells(given), "days_held": days, "list": key[-1]})
    return found


def holes_of(key: SeamKey, one: seaming.Seamed, days: int) -> list[tuple[object, ...]]:
    """The lines of holes that one seam is part of; only the last drilling is held."""
    last = len(one.drilled) - 1
    return [
        (*key[:2], size, operation, one.hold_every if at == last else 0, days, key[-1])
        for at, (size, operation) in enumerate(one.drilled)
    ]


def _days(
    key: SeamKey,
    one: seaming.Seamed,
    seam: SeamSum,
    holes: Left,
) -> int | None:
    """How long a seam is held: as it was given, else as its holes allow."""
    others = sorted({int(str(hole[5])) for hole in holes})
    first = [] if seam.days is None else [seam.days]
    for days in [*first, *others]:
        if all(holes.get(hole, 0) >= one.rivets for hole in holes_of(key, one, days)):
            return days
    return None
