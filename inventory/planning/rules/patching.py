"""What one change did to the plan, kept as data so that it can be taken back."""

from collections.abc import Callable, Mapping
from dataclasses import asdict
from datetime import date
from typing import Any

from inventory.catalog.rules import Description
from inventory.errors import Refused
from inventory.planning.rules.compare import FlatPlan, SeamSum, Spot
from inventory.planning.rules.editing import Edited, again, renamed
from inventory.planning.rules.lists import merged

Data = dict[str, Any]
# How the values of each table become JSON and come back.
_TABLES: dict[str, tuple[Callable[[Any], Any], Callable[[Any], Any]]] = {
    "starts": (
        lambda day: day.isoformat() if day else "",
        lambda text: date.fromisoformat(text) if text else None,
    ),
    "how_many": (int, int),
    "needs": (int, int),
    "holes": (int, int),
    "seams": (
        lambda row: [row.rivets, row.rule, row.days],
        lambda row: SeamSum(*row),
    ),
    "made_by": (str, str),
}


def patch_of(old: FlatPlan, new: FlatPlan, moved: Mapping[Spot, Spot]) -> Data:
    """The difference as JSON data: keys with what stood before and stands after."""
    before = renamed(old, moved)
    found: Data = {"moved": [[list(was), list(now)] for was, now in moved.items()]}
    asked = set()
    for table, (out, _back) in _TABLES.items():
        rows: tuple[dict[Any, Any], ...] = (getattr(before, table), getattr(new, table))
        changed = [
            [key, *(out(each[key]) if key in each else None for each in rows)]
            for key in {**rows[0], **rows[1]}
            if key not in rows[0] or key not in rows[1] or rows[0][key] != rows[1][key]
        ]
        asked |= {row[0][2] for row in changed if table == "needs"}
        found[table] = [[_as_list(key), was, now] for key, was, now in changed]
    found["what"] = {
        key: asdict(what)
        for key, what in {**old.what, **new.what}.items()
        if key in asked
    }
    found["skipped"] = [sorted(before.skipped), sorted(new.skipped)]
    orders = [list(before.starts), list(new.starts)]
    found["stages"] = orders if orders[0] != orders[1] else []
    spots = [[list(key) for key in plan.how_many] for plan in (before, new)]
    found["assemblies"] = spots if moved or spots[0] != spots[1] else []
    return found


def _as_list(key: str | tuple[object, ...]) -> list[object]:
    return [key] if isinstance(key, str) else list(key)


def taken_back(plan: FlatPlan, patch: Data) -> Edited:
    """The plan as it stood before a change, where nothing changed those lines since.

    Errors: `planning.changed_since`.
    """
    new = again(plan)
    for table, (out, back) in _TABLES.items():
        rows: dict[Any, Any] = getattr(new, table)
        for parts, was, now in patch[table]:
            key = parts[0] if table == "starts" else tuple(parts)
            stands = out(rows[key]) if key in rows else None
            if stands != now and table != "made_by":
                raise _since(parts)
            if was is None:
                rows.pop(key, None)
            else:
                rows[key] = back(was)
    new.what |= {
        key: Description(**{**row, "traits": tuple(map(tuple, row["traits"]))})
        for key, row in patch["what"].items()
    }
    before, after = (set(each) for each in patch["skipped"])
    new.skipped = (new.skipped - (after - before)) | (before - after)
    if patch["stages"]:
        order = [name for name in patch["stages"][0] if name in new.starts]
        new.starts = {name: new.starts[name] for name in merged([*new.starts], order)}
    if patch["assemblies"]:
        spots = [
            key for key in map(tuple, patch["assemblies"][0]) if key in new.how_many
        ]
        new.how_many = {
            key: new.how_many[key] for key in merged([*new.how_many], spots)
        }
    moved = {tuple(now): tuple(was) for was, now in patch["moved"]}
    stood = renamed(new, moved)
    _whole(stood)
    return Edited(stood, moved)


def _whole(plan: FlatPlan) -> None:
    """Nothing may stand in what was taken away. Errors: `planning.changed_since`."""
    for stage, _name in plan.how_many:
        if stage not in plan.starts:
            raise _since([stage])
    for rows in (plan.needs, plan.holes, plan.seams):
        for key in rows:
            if key[:2] not in plan.how_many:
                raise _since(list(key[:2]))


def _since(parts: list[object]) -> Refused:
    what = " / ".join(str(part) for part in parts[:3])
    return Refused(
        "planning.changed_since",
        f"{what} was changed again since: take the later change back first. Nothing was "
        "changed.",
        {"line": parts[:3]},
    )
