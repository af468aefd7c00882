"""Two plans side by side: what the file would change."""

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from inventory.planning.rules.lines import PlanLine

SeamKey = tuple[str, str, str, str]  # stage, assembly, callout, the seam as given
HoleKey = tuple[str, str, str, str, int, int]  # stage, assembly, size, operation, ...


@dataclass(frozen=True)
class SeamSum:
    """How many rivets the seams described alike come to, and the rule of one."""

    rivets: int
    rule: str


@dataclass
class FlatPlan:
    """A whole plan, flat enough to compare.

    Stages keep their order; needs are per assembly and spelling, holes per assembly,
    size, operation, every n-th and days held; seams are kept beside the needs they add
    up to, as JSON of what the file gave.
    """

    starts: dict[str, date | None] = field(default_factory=dict)
    how_many: dict[tuple[str, str], int] = field(default_factory=dict)
    needs: dict[tuple[str, str, str], int] = field(default_factory=dict)
    holes: dict[HoleKey, int] = field(default_factory=dict)
    seams: dict[SeamKey, SeamSum] = field(default_factory=dict)


@dataclass(frozen=True)
class Change:
    """One thing the file would change; `before` or `after` is empty at an end."""

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
            return f"gone {self.kind}: {self.what} (was {self.before})"
        return f"{self.kind} {self.what}: {self.before} becomes {self.after}"


def plan_of(lines: Iterable[PlanLine]) -> FlatPlan:
    """Plan lines as a plan; two rows of one callout in one assembly add up."""
    plan = FlatPlan()
    needs: dict[tuple[str, str, str], int] = defaultdict(int)
    holes: dict[HoleKey, int] = defaultdict(int)
    for row in lines:
        plan.starts[row.stage] = plan.starts.get(row.stage) or row.start
        plan.how_many[row.stage, row.assembly] = row.how_many
        if row.callout:
            spelled = " ".join(row.callout.upper().split())
            needs[row.stage, row.assembly, spelled] += row.each
            _add_seam(plan, row, spelled)
        if row.holes:
            key = (
                row.stage,
                row.assembly,
                row.hole_size,
                row.operation,
                row.every_nth,
                row.days_held,
            )
            holes[key] += row.holes
    plan.needs, plan.holes = dict(needs), dict(holes)
    return plan


def _add_seam(plan: FlatPlan, row: PlanLine, spelled: str) -> None:
    if row.seam is None:
        return
    key = (row.stage, row.assembly, spelled, as_text(row.seam.given))
    before = plan.seams.get(key)
    rivets = row.seam.rivets + (before.rivets if before else 0)
    plan.seams[key] = SeamSum(rivets, row.seam.rule)


def as_text(given: Mapping[str, str]) -> str:
    """A seam as given, in one spelling, to compare."""
    return json.dumps(dict(sorted(given.items())))


def changes(old: FlatPlan, new: FlatPlan) -> list[Change]:
    """What turns the old plan into the new one, stage by stage."""
    found = _changed("stage", _dates(old), _dates(new))
    kept = [stage for stage in old.starts if stage in new.starts]
    order = [stage for stage in new.starts if stage in old.starts]
    if kept != order:
        found.append(Change("order", "stages", " > ".join(kept), " > ".join(order)))
    found += _changed(
        "assembly",
        {" / ".join(key): f"made {n}x" for key, n in old.how_many.items()},
        {" / ".join(key): f"made {n}x" for key, n in new.how_many.items()},
    )
    found += _changed(
        "need",
        {" / ".join(key): f"{n} each" for key, n in old.needs.items()},
        {" / ".join(key): f"{n} each" for key, n in new.needs.items()},
    )
    found += _changed("holes", _holes(old), _holes(new))
    return found + _changed("seam", _seams(old), _seams(new))


def _dates(plan: FlatPlan) -> dict[str, str]:
    return {
        stage: f"start {start}" if start else "start by pace"
        for stage, start in plan.starts.items()
    }


def _holes(plan: FlatPlan) -> dict[str, str]:
    return {
        f"{key[0]} / {key[1]} / {key[2]} ({key[3]}, every {key[4]}, {key[5]} days)": str(
            n
        )
        for key, n in plan.holes.items()
    }


def _seams(plan: FlatPlan) -> dict[str, str]:
    return {" / ".join(key): found.rule for key, found in plan.seams.items()}


def _changed(kind: str, old: dict[str, str], new: dict[str, str]) -> list[Change]:
    found = [
        Change(kind, what, old.get(what, ""), after)
        for what, after in new.items()
        if old.get(what) != after
    ]
    gone = [Change(kind, what, old[what], "") for what in old if what not in new]
    return found + gone
