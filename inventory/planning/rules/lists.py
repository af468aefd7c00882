"""A plan made of several lists: which list a file is, and what it replaces."""

from collections.abc import Collection, Hashable, Iterable, Sequence
from pathlib import PurePath
from typing import TypeVar

from inventory.errors import Refused
from inventory.planning.rules.compare import FlatPlan, Spot, relabelled
from inventory.planning.rules.editing import checked_name

Name = TypeVar("Name", bound=Hashable)
# A file of another name is taken for a list of the plan when this share of what both ask
# is the same: a guess, and the page asks.
SAME = 0.5


def list_of(plan: FlatPlan, file: FlatPlan, file_name: str) -> str:
    """The list a file most likely is: by its name, else the one it resembles, else new."""
    named = " ".join(PurePath(file_name).stem.split())[:80] or "plan"
    if named in plan.lists:
        return named
    asked = {key[:3] for key in file.needs}
    shares: dict[str, float] = {}
    for each in plan.lists:
        stands = {key[:3] for key in plan.needs if key[-1] == each}
        shares[each] = len(asked & stands) / max(len(asked), len(stands), 1)
    best = max(shares, key=lambda each: shares[each], default="")
    return best if shares.get(best, 0) >= SAME else named


def replaced(old: FlatPlan, file: FlatPlan, lists: Collection[str]) -> FlatPlan:
    """The plan with what came from these lists taken out and the file's lines put in.

    What other lists, or a hand, brought stays, with its stages and assemblies. A date or
    number that the file leaves open stays too, unless its own list had given it.
    """
    new = FlatPlan(
        needs={key: n for key, n in old.needs.items() if key[-1] not in lists},
        holes={key: n for key, n in old.holes.items() if key[-1] not in lists},
        seams={key: row for key, row in old.seams.items() if key[-1] not in lists},
        what={**file.what, **old.what},
    )
    others = {
        **{key[:2]: key[-1] for key in new.needs},
        **{key[:2]: key[-1] for key in new.holes},
    }
    kept: dict[Spot, str] = {
        key: maker if maker not in lists or key in file.made_by else others[key]
        for key, maker in old.made_by.items()
        if len(key) == 2
        and (maker not in lists or key in file.how_many or key in others)
    }
    held = {key[0]: maker for key, maker in kept.items()}
    for (stage, *rest), maker in old.made_by.items():
        mine = maker not in lists or stage in file.starts
        if not rest and (mine or stage in held):
            kept[(stage,)] = maker if mine else held[stage]
    new.made_by = {**file.made_by, **kept}
    for stage in merged([s for s in old.starts if (s,) in kept], list(file.starts)):
        says = stage in file.starts and _says(old, file, (stage,), lists)
        new.starts[stage] = file.starts[stage] if says else old.starts[stage]
    for key in merged([k for k in old.how_many if k in kept], list(file.how_many)):
        says = key in file.how_many and _says(old, file, key, lists)
        new.how_many[key] = file.how_many[key] if says else old.how_many[key]
    new.skipped = {stage for stage in old.skipped if stage in new.starts}
    new.needs |= file.needs
    new.holes |= file.holes
    new.seams |= file.seams
    return new


def _says(old: FlatPlan, file: FlatPlan, key: Spot, lists: Collection[str]) -> bool:
    known = old.made_by.get(key)
    return known is None or known in lists or key not in file.unsaid


def merged(old: Sequence[Name], file: Iterable[Name]) -> list[Name]:
    """Both orders in one: what the file names stands as there, the rest as it stood."""
    order = list(file)
    known, named = set(old), set(order)
    again = iter([name for name in order if name in known])
    found = [next(again) if name in named else name for name in old]
    for at, name in enumerate(order):
        if name in known:
            continue
        if at:
            found.insert(found.index(order[at - 1]) + 1, name)
        else:
            after = next((row for row in order if row in known), None)
            found.insert(found.index(after) if after is not None else len(found), name)
    return found


def rename_list(plan: FlatPlan, origin: str, name: str) -> FlatPlan:
    """The plan with a list under another name. Errors: `planning.no_list`,
    `planning.name_taken`, `sheet.cell`."""
    _known(plan, origin)
    name = checked_name(name, "list")
    if name != origin and name in plan.lists:
        raise Refused(
            "planning.name_taken",
            f"The plan has a list {name} already: choose another name. Nothing was "
            "changed.",
            {"name": name},
        )
    return relabelled(plan, origin, name)


def without_list(plan: FlatPlan, origin: str) -> FlatPlan:
    """The plan without what came from a list. Errors: `planning.no_list`."""
    _known(plan, origin)
    return replaced(plan, FlatPlan(), [origin])


def _known(plan: FlatPlan, origin: str) -> None:
    if origin not in plan.lists:
        raise Refused("planning.no_list", f"No line of the plan came from {origin}.")
