"""Two plans side by side: what a file or a hand would change."""

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from inventory import days
from inventory.catalog.rules import Description
from inventory.planning.rules.lines import OPERATIONS, PlanLine

# The last of each key is the list the line came from, '' where it was entered by hand.
Spot = tuple[str, ...]  # a stage alone, or stage and assembly
NeedKey = tuple[str, str, str, str]  # stage, assembly, what it asks, list
SeamKey = tuple[str, str, str, str, str]  # stage, assembly, callout, as given, list
# Stage, assembly, size, operation, every n-th, days held, list.
HoleKey = tuple[str, str, str, str, int, int, str]
Key = tuple[object, ...]


@dataclass(frozen=True)
class SeamSum:
    """How many rivets the seams described alike come to, and the rule of one.

    `days` is how long its sheets are held, None where nobody kept it.
    """

    rivets: int
    rule: str
    days: int | None = field(default=None, compare=False)


@dataclass
class FlatPlan:
    """A whole plan, flat enough to compare.

    Stages and assemblies keep their order; needs are per assembly and spelling, holes
    per assembly, size, operation, every n-th and days held; seams are kept beside the
    needs they add up to, as JSON of what was given. `made_by` is the list that first
    named a stage or assembly, `what` describes the needs that no callout names,
    `unsaid` the stages without a date and assemblies without a number in a file.
    """

    starts: dict[str, date | None] = field(default_factory=dict)
    how_many: dict[tuple[str, str], int] = field(default_factory=dict)
    needs: dict[NeedKey, int] = field(default_factory=dict)
    holes: dict[HoleKey, int] = field(default_factory=dict)
    seams: dict[SeamKey, SeamSum] = field(default_factory=dict)
    skipped: set[str] = field(default_factory=set)
    made_by: dict[Spot, str] = field(default_factory=dict)
    what: dict[str, Description] = field(default_factory=dict)
    unsaid: set[Spot] = field(default_factory=set)

    @property
    def lists(self) -> list[str]:
        """The lists it came from, by name; what was entered by hand is none."""
        rows: tuple[Key, ...] = (*self.needs, *self.holes, *self.seams)
        found = {str(key[-1]) for key in rows} | set(self.made_by.values())
        return sorted(found - {""})

    def within(self, stage: str) -> list[tuple[str, str]]:
        """The assemblies of a stage, in order."""
        return [key for key in self.how_many if key[0] == stage]


@dataclass(frozen=True)
class Change:
    """One thing that would change; `before` or `after` is empty at an end."""

    kind: str
    what: str
    before: str
    after: str

    @property
    def sentence(self) -> str:
        """As a person reads it."""
        if not self.before:
            return f"new {self.kind}: {self.what}, {self.after}"
        if not self.after:
            return f"dropped {self.kind}: {self.what} (was {self.before})"
        return f"{self.kind} {self.what}: {self.before} becomes {self.after}"


def plan_of(lines: Iterable[PlanLine], origin: str = "") -> FlatPlan:
    """Plan lines as a plan; two rows of one callout in one assembly add up.

    `origin` is the list of the rows that name none.
    """
    plan = FlatPlan()
    for row in lines:
        own = origin if row.origin is None else row.origin
        _add_place(plan, row, own)
        if row.asks:
            need = (row.stage, row.assembly, row.asks, own)
            plan.needs[need] = plan.needs.get(need, 0) + row.each
            if row.what is not None:
                plan.what[row.asks] = row.what
            _add_seam(plan, row, own)
        if row.holes:
            hole = (
                row.stage,
                row.assembly,
                row.hole_size,
                row.operation,
                row.every_nth,
                row.days_held,
                own,
            )
            plan.holes[hole] = plan.holes.get(hole, 0) + row.holes
    plan.unsaid |= {(stage,) for stage, start in plan.starts.items() if start is None}
    return plan


def _add_place(plan: FlatPlan, row: PlanLine, own: str) -> None:
    plan.starts[row.stage] = plan.starts.get(row.stage) or row.start
    plan.made_by.setdefault((row.stage,), own)
    if not row.assembly:
        return
    key = (row.stage, row.assembly)
    if key not in plan.how_many:
        plan.unsaid.add(key)
    plan.how_many[key] = row.how_many or plan.how_many.get(key, 1)
    plan.made_by.setdefault(key, own)
    if row.how_many:
        plan.unsaid.discard(key)


def _add_seam(plan: FlatPlan, row: PlanLine, own: str) -> None:
    if row.seam is None:
        return
    key = (row.stage, row.assembly, row.asks, as_text(row.seam.given), own)
    before = plan.seams.get(key)
    rivets = row.seam.rivets + (before.rivets if before else 0)
    plan.seams[key] = SeamSum(rivets, row.seam.rule, row.days_held)


def as_text(given: Mapping[str, str]) -> str:
    """A seam as given, in one spelling, to compare."""
    return json.dumps(dict(sorted(given.items())))


def changes(old: FlatPlan, new: FlatPlan) -> list[Change]:
    """What turns the old plan into the new one, stage by stage, all lists together."""
    what = new.what | old.what
    found = _changed("stage", _dates(old), _dates(new))
    found += _moved("stages", list(old.starts), list(new.starts))
    found += _changed(
        "assembly",
        {key: _made(n) for key, n in old.how_many.items()},
        {key: _made(n) for key, n in new.how_many.items()},
    )
    for stage in new.starts:
        names = [[key[1] for key in plan.within(stage)] for plan in (old, new)]
        found += _moved(f"of {stage}", *names)
    found += _changed("need", _needs(old, what), _needs(new, what))
    found += _changed("holes", _holes(old), _holes(new))
    found += _changed("seam", _seams(old), _seams(new))
    return found or _renamed_list(old, new)


def _renamed_list(old: FlatPlan, new: FlatPlan) -> list[Change]:
    """What only the names of lists tell apart."""
    if _lines(old) == _lines(new):
        return []
    gone, made = set(old.lists) - set(new.lists), set(new.lists) - set(old.lists)
    if len(gone) == len(made) == 1:
        before, after = gone.pop(), made.pop()
        if _lines(relabelled(old, before, after)) == _lines(new):
            return [Change("name", "of a list", before, after)]
    return [Change("list", "of some lines", "as it was", "as the file says")]


def relabelled(plan: FlatPlan, origin: str, name: str) -> FlatPlan:
    """The plan with what came from one list under another list's name."""

    def each(rows: Mapping[Any, Any]) -> dict[Any, Any]:
        return {
            (*key[:-1], name if key[-1] == origin else key[-1]): row
            for key, row in rows.items()
        }

    return replace(
        plan,
        needs=each(plan.needs),
        holes=each(plan.holes),
        seams=each(plan.seams),
        made_by={
            spot: name if maker == origin else maker
            for spot, maker in plan.made_by.items()
        },
    )


def touched(old: FlatPlan, new: FlatPlan) -> set[tuple[str, str]]:
    """The assemblies that are made, asked or drilled otherwise."""
    pairs: tuple[tuple[Mapping[Any, object], Mapping[Any, object]], ...] = (
        (old.how_many, new.how_many),
        (summed(old.needs), summed(new.needs)),
        (summed(old.holes), summed(new.holes)),
        (_seams(old), _seams(new)),
    )
    return {
        (key[0], key[1])
        for before, after in pairs
        for key, _value in set(before.items()) ^ set(after.items())
    }


def summed(rows: Mapping[Any, int]) -> dict[Key, int]:
    """Lines of all lists together, by what stands before the list."""
    found: dict[Key, int] = defaultdict(int)
    for key, number in rows.items():
        found[key[:-1]] += number
    return dict(found)


def _made(times: int) -> str:
    return "made once" if times == 1 else f"made {times} times"


def _lines(plan: FlatPlan) -> tuple[object, ...]:
    return plan.needs, plan.holes, plan.seams, plan.made_by


def _dates(plan: FlatPlan) -> dict[Key, str]:
    return {
        (stage,): (f"start {days.said(start)}" if start else "start by pace")
        + (", skipped" if stage in plan.skipped else "")
        for stage, start in plan.starts.items()
    }


def _moved(what: str, before: list[str], after: list[str]) -> list[Change]:
    """One change where what stands on both sides has another order."""
    both = set(before) & set(after)
    kept = [name for name in before if name in both]
    order = [name for name in after if name in both]
    if kept == order:
        return []
    return [Change("order", what, " > ".join(kept), " > ".join(order))]


def _needs(plan: FlatPlan, what: Mapping[str, Description]) -> dict[Key, str]:
    found: dict[Key, str] = {}
    for key, each in summed(plan.needs).items():
        asks = str(key[2])
        unit = what[asks].unit if asks in what else "pcs"
        label = what[asks].words if asks in what else asks
        found[*key[:2], label, asks] = (
            f"{each}{'' if unit == 'pcs' else ' ' + unit} each"
        )
    return found


def _holes(plan: FlatPlan) -> dict[Key, str]:
    found: dict[Key, int] = defaultdict(int)
    for key, n in summed(plan.holes).items():
        work = f"{key[2]} ({OPERATIONS[str(key[3])]}, {held(*key[4:6])})"
        # Days say nothing where none is held: those lines are one to a reader.
        found[*key[:2], work] += n
    return {key: str(n) for key, n in found.items()}


def held(every_nth: object, days: object) -> str:
    """How holes are held until they are riveted."""
    return f"one in {every_nth} held {days} days" if every_nth else "none held"


def _seams(plan: FlatPlan) -> dict[Key, str]:
    found: dict[Key, str] = {}
    for key, seam in plan.seams.items():
        found[key[:-1]] = f"{found.get(key[:-1], '')} {seam.rule}".strip()
    return found


def _named(kind: str, key: Key) -> str:
    """Where in the plan a line stands; what tells a need or seam apart is not for eyes."""
    return " / ".join(str(part) for part in (key[:3] if kind != "stage" else key))


def _changed(kind: str, old: dict[Key, str], new: dict[Key, str]) -> list[Change]:
    found = [
        Change(kind, _named(kind, key), old.get(key, ""), after)
        for key, after in new.items()
        if old.get(key) != after
    ]
    gone = [
        Change(kind, _named(kind, key), old[key], "") for key in old if key not in new
    ]
    return found + gone
