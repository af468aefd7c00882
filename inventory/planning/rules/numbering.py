"""The lines of one assembly by hand: another number, none, or off to a new assembly."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from inventory.errors import Refused
from inventory.planning.rules.compare import FlatPlan, Key, SeamKey, held
from inventory.planning.rules.editing import add_assembly, add_line, again
from inventory.planning.rules.lines import OPERATIONS
from inventory.planning.rules.seaming import as_given
from inventory.planning.rules.unfolding import by_spot, seam_rows
from inventory.sheets import Row
from inventory.sheets.cells import whole

Spot = tuple[str, str]
NEED, HOLES, SEAM = "need", "holes", "seam"


@dataclass(frozen=True)
class Line:
    """One line of an assembly: what it is in words, how many each, in what unit.

    `least` of them come from seams and go only with those; `origin` is its list.
    """

    kind: str
    key: Key
    words: str
    number: int
    least: int = 0
    unit: str = ""

    @property
    def origin(self) -> str:
        """The list it came from, '' where it was entered by hand."""
        return str(self.key[-1])


def lines_at(plan: FlatPlan, spot: Spot) -> list[Line]:
    """What an assembly asks, drills and rivets by seams, as the plan stands."""
    here = by_spot(plan).get(spot, FlatPlan())
    needs, holes = _beside_seams(here)
    found = [
        Line(NEED, key, *_asked(plan, key[2], each, needs[key]))
        for key, each in here.needs.items()
    ]
    for hole, number in here.holes.items():
        words = f"{hole[2]}, {OPERATIONS[hole[3]]}, {held(*hole[4:6])}"
        found.append(Line(HOLES, hole, words, number, number - holes[hole]))
    for seam, row in here.seams.items():
        given = ", ".join(
            f"{name.replace('_', ' ')} {text}"
            for name, text in as_given(seam[3]).items()
        )
        found.append(Line(SEAM, seam, f"{row.rule} ({given})", row.rivets))
    return found


def _asked(plan: FlatPlan, asks: str, each: int, counted: int) -> tuple[Any, ...]:
    what = plan.what.get(asks)
    words = what.words if what else asks
    unit = what.unit if what and what.unit != "pcs" else ""
    return words, each, each - counted, unit


def _beside_seams(here: FlatPlan) -> tuple[dict[Any, int], dict[Any, int]]:
    """What of each need and hole no seam brought."""
    needs: dict[Any, int] = dict(here.needs)
    holes: dict[Any, int] = dict(here.holes)
    for key, seam in sorted(here.seams.items(), key=lambda pair: -pair[1].rivets):
        seam_rows(key, seam, needs, holes)
    return needs, holes


def number_lines(
    plan: FlatPlan, spot: Spot, said: Mapping[int, str], dropped: Collection[int]
) -> FlatPlan:
    """The lines (by their place in `lines_at`) with these numbers; 0 takes one away.

    A seam that is dropped takes its rivets and holes along. Errors: `sheet.cell`,
    `planning.seam_in_it`.
    """
    lines = lines_at(plan, spot)
    new = again(plan)
    needs: dict[Any, int] = new.needs
    holes: dict[Any, int] = new.holes
    for at in dropped:
        line = lines[at] if at < len(lines) else None
        if line is not None and line.kind == SEAM:
            key: SeamKey = line.key  # type: ignore[assignment]
            seam_rows(key, new.seams.pop(key), needs, holes)
    for at, line in enumerate(lines):
        if line.kind == SEAM:
            continue
        rows = needs if line.kind == NEED else holes
        text = said.get(at, str(line.number))
        asked = 0 if at in dropped else _whole(text, line)
        rows[line.key] += asked - line.number
        if rows[line.key] <= 0:
            del rows[line.key]
    _check_seams(plan, new, spot)
    return new


def replace_line(
    plan: FlatPlan, spot: Spot, at: int | None, cells: Mapping[str, str]
) -> FlatPlan:
    """Another line in place of one (by its place in `lines_at`); None: one more.

    Errors: as `add_line` and `number_lines`; `planning.no_line`.
    """
    if at is None:
        return add_line(plan, spot, cells)
    lines = lines_at(plan, spot)
    if at >= len(lines):
        raise Refused("planning.no_line", "That line is gone. Nothing was changed.")
    kept = {at: str(lines[at].least)} if lines[at].kind != SEAM else {}
    without = number_lines(plan, spot, kept, () if kept else [at])
    return add_line(without, spot, cells)


def _whole(text: str, line: Line) -> int:
    column = line.words[:60] or "each"
    return whole(Row(0, {column: text.strip() or "0"}), column)


def split_assembly(
    plan: FlatPlan, spot: Spot, name: str, chosen: Collection[int]
) -> FlatPlan:
    """A new assembly of the same stage takes the chosen lines.

    Errors: `planning.no_choice`, `planning.seam_in_it`, as `add_assembly`.
    """
    lines = lines_at(plan, spot)
    keys = {lines[at].key for at in chosen if at < len(lines)}
    if not keys:
        raise Refused("planning.no_choice", "Tick the lines that go to it.")
    new = add_assembly(plan, spot[0], name, str(plan.how_many[spot]))
    made = next(key for key in new.how_many if key not in plan.how_many)
    for rows in (new.needs, new.holes, new.seams):
        each: dict[Any, Any] = rows
        for key in [key for key in each if key in keys]:
            each[(*made, *key[2:])] = each.pop(key)
    _check_seams(plan, new, spot, made)
    return new


def _check_seams(old: FlatPlan, new: FlatPlan, spot: Spot, *spots: Spot) -> None:
    """A seam's rivets and holes stand in what is counted. Errors: `planning.seam_in_it`."""
    known = _unfit(old, spot)
    if any(_unfit(new, each) - known for each in (spot, *spots)):
        raise Refused(
            "planning.seam_in_it",
            "A seam is counted in its rivets and in its holes: they cannot be fewer or "
            "stand elsewhere. Change or drop the seam. Nothing was changed.",
        )


def _unfit(plan: FlatPlan, spot: Spot) -> set[Key]:
    """Seams that are not whole in what is counted."""
    here = by_spot(plan).get(spot, FlatPlan())
    needs: dict[Any, int] = dict(here.needs)
    holes: dict[Any, int] = dict(here.holes)
    found: set[Key] = set()
    for key, seam in sorted(here.seams.items(), key=lambda pair: -pair[1].rivets):
        need = (*key[:3], key[-1])
        before = needs.get(need, 0)
        seam_rows(key, seam, needs, holes)
        if before - needs.get(need, 0) != seam.rivets:
            found.add(key[2:])
    return found
