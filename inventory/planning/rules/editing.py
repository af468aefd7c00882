"""The plan changed by hand: each change makes another plan, to compare and to write."""

import hashlib
import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, TypeVar

from inventory.errors import Refused
from inventory.planning.rules.compare import FlatPlan, Key, Spot, plan_of
from inventory.planning.rules.dating import shift
from inventory.planning.rules.lines import BY_HAND, other_unit, parse_row
from inventory.sheets import Row
from inventory.sheets.cells import name as name_in
from inventory.sheets.cells import whole

Name = TypeVar("Name")
_SIDES = {"left": "right", "lh": "rh", "port": "starboard"}
_OTHER = _SIDES | {right: left for left, right in _SIDES.items()}
_SIDE = re.compile(rf"\b({'|'.join(_OTHER)})\b", re.IGNORECASE)


@dataclass(frozen=True)
class Edited:
    """The plan after a change, and what only changed its name or stage."""

    plan: FlatPlan
    moved: Mapping[Spot, Spot] = field(default_factory=dict)


def mark(plan: FlatPlan, spot: Spot) -> str:
    """The same while a stage or assembly stands as it does; of nothing, of the stages."""
    if len(spot) == 2:
        rows: tuple[Mapping[Any, object], ...] = (plan.needs, plan.holes, plan.seams)
        told: object = [
            sorted((key, row) for key, row in each.items() if key[:2] == spot)
            for each in rows
        ] + [plan.how_many.get((spot[0], spot[1]))]
    elif spot:
        stage = spot[0]
        told = (plan.starts.get(stage), plan.within(stage), stage in plan.skipped)
    else:
        told = list(plan.starts.items())
    return hashlib.sha256(repr((spot, told)).encode()).hexdigest()[:24]


def mirrored(name: str) -> str:
    """The name of the other side: left for right; else the name, said to be a copy."""

    def other(found: re.Match[str]) -> str:
        word = _OTHER[found[0].lower()]
        if found[0].isupper():
            return word.upper()
        return word.capitalize() if found[0][0].isupper() else word

    turned = _SIDE.sub(other, name)
    return turned if turned != name else f"{name[:75]} copy"


def checked_name(text: str, what: str) -> str:
    """A name on one line, 1 to 80 characters. Errors: `sheet.cell`."""
    return name_in(Row(0, {what: text}), what)


def again(plan: FlatPlan) -> FlatPlan:
    """A copy to change."""
    return replace(
        plan,
        starts=dict(plan.starts),
        how_many=dict(plan.how_many),
        needs=dict(plan.needs),
        holes=dict(plan.holes),
        seams=dict(plan.seams),
        skipped=set(plan.skipped),
        made_by=dict(plan.made_by),
        what=dict(plan.what),
    )


def moved_to(moved: Mapping[Spot, Spot], key: Key) -> Key:
    """A line's key where its stage or assembly has another name now."""
    for length in (2, 1):
        now = moved.get(tuple(str(part) for part in key[:length]))
        if now is not None:
            return (*now, *key[length:])
    return key


def renamed(plan: FlatPlan, moved: Mapping[Spot, Spot]) -> FlatPlan:
    """The plan with these stages and assemblies under other names, in their order."""

    def each(rows: Mapping[Any, Any]) -> dict[Any, Any]:
        return {moved_to(moved, key): row for key, row in rows.items()}

    def stage(name: str) -> str:
        return str(moved_to(moved, (name,))[0])

    return replace(
        plan,
        starts={stage(name): start for name, start in plan.starts.items()},
        skipped={stage(name) for name in plan.skipped},
        how_many=each(plan.how_many),
        needs=each(plan.needs),
        holes=each(plan.holes),
        seams=each(plan.seams),
        made_by=each(plan.made_by),
    )


def add_stage(
    plan: FlatPlan, name: str, start: date | None, after: str = ""
) -> FlatPlan:
    """A stage without assemblies, at the end or after another. Errors: as `_free`."""
    stage = _free(plan, (checked_name(name, "stage"),))[0]
    new = again(plan)
    new.starts[stage] = start
    new.made_by[stage,] = ""
    if after:
        order = [each for each in new.starts if each != stage]
        order.insert(order.index(after) + 1, stage)
        new.starts = {each: new.starts[each] for each in order}
    return new


def change_stage(
    plan: FlatPlan,
    stage: str,
    name: str,
    start: date | None,
    *,
    shift_later: bool = False,
) -> Edited:
    """Another name or date; with `shift_later` the dated stages after it move as far."""
    _known(plan, stage)
    new = again(plan)
    moved: dict[Spot, Spot] = {}
    before = plan.starts[stage]
    new.starts[stage] = start
    if shift_later and before and start:
        order = list(plan.starts)
        for later in order[order.index(stage) + 1 :]:
            new.starts[later] = shift(plan.starts[later], (start - before).days)
    name = checked_name(name, "stage")
    if name != stage:
        moved = {(stage,): _free(plan, (name,))}
    return Edited(renamed(new, moved), moved)


def skip_stage(plan: FlatPlan, stage: str, skipped: bool) -> FlatPlan:
    """Leave a stage out of the forecast, or put it back in the plan."""
    _known(plan, stage)
    new = again(plan)
    new.skipped = new.skipped | {stage} if skipped else new.skipped - {stage}
    return new


def place_stage(plan: FlatPlan, stage: str, places: int) -> FlatPlan:
    """Up (negative) or down by so many places."""
    _known(plan, stage)
    order = _placed(list(plan.starts), stage, places)
    return replace(again(plan), starts={each: plan.starts[each] for each in order})


def drop_stage(plan: FlatPlan, stage: str) -> FlatPlan:
    """Without a stage and all that is in it."""
    new = _without(plan, [], stage)
    del new.starts[stage]
    new.skipped.discard(stage)
    return new


def copy_stage(plan: FlatPlan, stage: str, name: str) -> FlatPlan:
    """The same assemblies again in a new stage after it, their sides turned by name."""
    new = add_stage(plan, name, None, after=stage)
    made = checked_name(name, "stage")
    for spot in plan.within(stage):
        turned = mirrored(spot[1])
        copied = turned if not turned.endswith(" copy") else spot[1]
        new = copy_assembly(new, spot, (made, copied))
    return new


def split_stage(
    plan: FlatPlan, stage: str, name: str, assemblies: Collection[str]
) -> Edited:
    """A new stage that follows takes these assemblies. Errors: `planning.no_choice`."""
    if not assemblies:
        raise Refused(
            "planning.no_choice", "Tick the assemblies that go to the new stage."
        )
    new = add_stage(plan, name, None, after=stage)
    made = checked_name(name, "stage")
    moved: dict[Spot, Spot] = {(stage, each): (made, each) for each in assemblies}
    return Edited(renamed(new, moved), moved)


def add_assembly(plan: FlatPlan, stage: str, name: str, how_many: str) -> FlatPlan:
    """An assembly that asks for nothing yet, last in its stage."""
    _known(plan, stage)
    spot = _free(plan, (stage, checked_name(name, "assembly")))
    new = again(plan)
    new.how_many[spot[0], spot[1]] = _times(how_many)
    new.made_by[spot] = ""
    return new


def change_assembly(
    plan: FlatPlan, spot: tuple[str, str], name: str, how_many: str, stage: str
) -> Edited:
    """Another name, number or stage; in another stage it comes last."""
    new = again(plan)
    moved: dict[Spot, Spot] = {}
    new.how_many[spot] = _times(how_many)
    now = (stage, checked_name(name, "assembly"))
    if now != spot:
        moved = {spot: _free(plan, now)}
    if stage != spot[0]:
        new.how_many[spot] = new.how_many.pop(spot)
    return Edited(renamed(new, moved), moved)


def place_assembly(plan: FlatPlan, spot: tuple[str, str], places: int) -> FlatPlan:
    """Up (negative) or down within its stage."""
    if spot not in plan.how_many:
        raise Refused("planning.no_assembly", f"There is no {spot[1]} in {spot[0]}.")
    order = _placed(plan.within(spot[0]), spot, places)
    rest = {key: n for key, n in plan.how_many.items() if key[0] != spot[0]}
    kept = {key: plan.how_many[key] for key in order}
    return replace(again(plan), how_many=rest | kept)


def copy_assembly(
    plan: FlatPlan, spot: tuple[str, str], to: tuple[str, str]
) -> FlatPlan:
    """The same again under another name; the copy was entered by hand."""
    made = (to[0], checked_name(to[1], "assembly"))
    _free(plan, made)
    new = again(plan)
    new.how_many[made] = plan.how_many[spot]
    new.made_by[made] = ""
    for need, each in plan.needs.items():
        if need[:2] == spot:
            key = (*made, need[2], "")
            new.needs[key] = new.needs.get(key, 0) + each
    for hole, number in plan.holes.items():
        if hole[:2] == spot:
            drilled = (*made, *hole[2:6], "")
            new.holes[drilled] = new.holes.get(drilled, 0) + number
    for seam, row in plan.seams.items():
        if seam[:2] == spot:
            given = (*made, *seam[2:4], "")
            before = new.seams[given].rivets if given in new.seams else 0
            new.seams[given] = replace(row, rivets=row.rivets + before)
    return new


def drop_assembly(plan: FlatPlan, spot: tuple[str, str]) -> FlatPlan:
    """Without an assembly and what it asks."""
    return _without(plan, [spot])


def add_line(
    plan: FlatPlan, spot: tuple[str, str], cells: Mapping[str, str]
) -> FlatPlan:
    """Something more that an assembly asks or drills, read as a file's row is.

    Errors: `plan.row`, `sheet.cell`, `catalog.*`, `planning.unit`.
    """
    where = {"stage": spot[0], "assembly": spot[1], "list": BY_HAND}
    found = plan_of(parse_row(Row(0, {**cells, **where})))
    for key, what in found.what.items():
        unit = plan.what.get(key, what).unit
        if cells.get("unit") and unit != what.unit:
            raise Refused("planning.unit", other_unit(what, unit))
    new = again(plan)
    for need, each in found.needs.items():
        new.needs[need] = new.needs.get(need, 0) + each
    for hole, number in found.holes.items():
        new.holes[hole] = new.holes.get(hole, 0) + number
    for seam, row in found.seams.items():
        before = new.seams[seam].rivets if seam in new.seams else 0
        new.seams[seam] = replace(row, rivets=row.rivets + before)
    new.what = found.what | new.what
    return new


def _times(text: str) -> int:
    return whole(Row(0, {"how_many": text}), "how_many", default=1, least=1)


def _known(plan: FlatPlan, stage: str) -> None:
    """Errors: `planning.no_stage`."""
    if stage not in plan.starts:
        raise Refused("planning.no_stage", f"There is no stage {stage} in the plan.")


def _free(plan: FlatPlan, spot: Spot) -> Spot:
    """Errors: `planning.name_taken`."""
    stage, *rest = spot
    if (stage, *rest) in plan.how_many or (not rest and stage in plan.starts):
        there = f"Stage {stage}" if rest else "The plan"
        raise Refused(
            "planning.name_taken",
            f"{there} has a {spot[-1]} already: choose another name. Nothing was "
            "changed.",
            {"name": spot[-1]},
        )
    return spot


def _placed(order: Sequence[Name], name: Name, places: int) -> list[Name]:
    rows = list(order)
    at = rows.index(name)
    rows.insert(min(max(0, at + places), len(rows) - 1), rows.pop(at))
    return rows


def _without(plan: FlatPlan, spots: Iterable[Spot], stage: str = "") -> FlatPlan:
    gone = set(spots)

    def stays(key: tuple[object, ...]) -> bool:
        return key[:2] not in gone and (not stage or key[0] != stage)

    return replace(
        again(plan),
        how_many={key: n for key, n in plan.how_many.items() if stays(key)},
        needs={key: n for key, n in plan.needs.items() if stays(key)},
        holes={key: n for key, n in plan.holes.items() if stays(key)},
        seams={key: row for key, row in plan.seams.items() if stays(key)},
        made_by={key: maker for key, maker in plan.made_by.items() if stays(key)},
    )
