"""A rivet in its sheets, cut along its axis and true to its dimensions."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from inventory.errors import Refused
from inventory.trade.drawing import Drawing, Point, Shape, both_sides, fitted
from inventory.trade.flush import COUNTERSINK, DIMPLE, PLAIN
from inventory.trade.heads import (
    CONE,
    CURVE,
    Head,
    above,
    head_of,
    rivet_words,
    with_axis,
)
from inventory.trade.sizes import print_decimal, print_size

PREPARATIONS = (PLAIN, COUNTERSINK, DIMPLE)


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of a stack: its thickness in inches and how it takes a flush head."""

    thickness_in: Fraction
    preparation: str = PLAIN


@dataclass(frozen=True, slots=True)
class _Face:
    """The upper face of a sheet: its height, and the radius of the cone in it."""

    y: float
    cone: float = 0.0

    def depth(self, radius: float) -> float:
        """How deep the cone is at this radius, as a height of the drawing."""
        return self.y + max(self.cone - radius, 0.0) / math.tan(CONE)


def stack_drawing(
    style: str,
    diameter: Fraction,
    length: Fraction,
    sheets: Sequence[Sheet],
    hole: Fraction,
    shop_head: tuple[Fraction, Fraction] | None = None,
) -> Drawing | None:
    """A rivet in its sheets, cut along its axis; inches throughout.

    `shop_head` is (diameter, height) of the driven head; with it the shank fills the
    hole. A flush head in a plain sheet stands on the hole's edge, as it would. None
    where the head is not known. Raises Refused drawing.stack for a sheet that cannot
    lie under a dimple, and for no sheets.
    """
    head = head_of(style, diameter)
    if head is None:
        return None
    radius = float(hole) / 2
    faces = _faces(head, diameter, sheets)
    end = faces[-1].depth(radius)
    shop = _shop(shop_head, end)
    edge = max(
        [head.across, *(each.across for each in shop), *(2 * f.cone for f in faces)]
    )
    proud = _proud(head, radius, faces[0])
    if shop:
        rivet = _seated(head, radius, end, proud)
    else:
        rivet = _seated(head, float(diameter) / 2, float(length) - proud, proud)
    cut = _cut(sheets, faces, radius, edge * 0.9)
    words = _stack_words(head, (diameter, length, hole), sheets, shop_head)
    return fitted(words, with_axis((*cut, rivet, *shop)))


def _faces(head: Head, diameter: Fraction, sheets: Sequence[Sheet]) -> list[_Face]:
    """The upper face of every sheet, and the lower one of the last."""
    if not sheets:
        raise _refused("at least one sheet", "none")
    flush = head if head.is_flush else head_of("flush", diameter)
    seat = flush.across / 2 if flush else head.across / 2
    faces, below = [], _Face(0.0)
    for each in sheets:
        face = _prepared(each, below, seat)
        faces.append(face)
        below = _below(each, face)
    return [*faces, below]


def _prepared(sheet: Sheet, above: _Face, seat: float) -> _Face:
    """A sheet's upper face: a cone as wide as what lies in it, or none."""
    if sheet.preparation not in PREPARATIONS:
        raise _refused(f"a sheet {', '.join(PREPARATIONS)}", sheet.preparation)
    if sheet.preparation != PLAIN:
        return _Face(above.y, above.cone or seat)
    if above.cone:
        raise _refused("a sheet under a dimple dimpled or countersunk", "a plain one")
    return above


def _below(sheet: Sheet, face: _Face) -> _Face:
    """The lower face of a sheet; a dimpled one keeps its thickness around the cone."""
    thick = float(sheet.thickness_in)
    if sheet.preparation != DIMPLE:
        return _Face(face.y + thick)
    return _Face(face.y + thick, face.cone + thick * math.tan((math.pi / 2 - CONE) / 2))


def _refused(expected: str, got: str) -> Refused:
    return Refused(
        "drawing.stack",
        f"Expected {expected}; got {got}. Mend the stack of sheets.",
        {"text": got, "expected": expected},
    )


def _cut(
    sheets: Sequence[Sheet], faces: Sequence[_Face], radius: float, edge: float
) -> list[Shape]:
    """Both cut sides of every sheet, neighbours in turn of another kind."""
    found: list[Shape] = []
    for at, (sheet, (top, under)) in enumerate(
        zip(sheets, pairwise(faces), strict=True)
    ):
        right = _side(sheet, top, under, (radius, edge))
        kind = "sheet_other" if at % 2 else "sheet"
        left = tuple((-x, y) for x, y in right)
        found += [Shape(kind, tuple(right)), Shape(kind, left)]
    return found


def _side(
    sheet: Sheet, top: _Face, under: _Face, reach: tuple[float, float]
) -> list[Point]:
    """The right half of a sheet between its faces, from the hole out to the edge."""
    radius, edge = reach
    if sheet.preparation == COUNTERSINK:
        # Too thin a sheet is cut through: the hole's lower edge grows.
        cut = top.cone - float(sheet.thickness_in) * math.tan(CONE)
        radius = max(radius, cut)
    upper = [(radius, top.depth(radius)), (max(top.cone, radius), top.y), (edge, top.y)]
    lower = [(radius, under.depth(radius)), (max(under.cone, radius), under.y)]
    return [*upper, (edge, under.y), *reversed(lower)]


def _proud(head: Head, hole: float, face: _Face) -> float:
    """How far a flush head stands out: on the hole's edge where there is no cone."""
    if not head.is_flush:
        return 0.0
    return max(head.across / 2 - max(face.cone, hole), 0.0) / math.tan(CONE)


def _seated(head: Head, radius: float, end: float, proud: float) -> Shape:
    """A rivet in its hole, from its head down to `end`."""
    profile = [(x, y - proud) for x, y in above(head, radius)]
    return both_sides("part", [*profile, (radius, end), (0.0, end)])


def _shop(size: tuple[Fraction, Fraction] | None, top: float) -> tuple[Shape, ...]:
    """The driven head, a barrel under the sheets."""
    if size is None:
        return ()
    across, height = float(size[0]), float(size[1])
    turns = [math.pi * step / CURVE for step in range(CURVE + 1)]
    side = [
        (across * (0.42 + 0.08 * math.sin(turn)), top + height * step / CURVE)
        for step, turn in enumerate(turns)
    ]
    return (both_sides("head", [(0.0, top), *side, (0.0, top + height)]),)


def _stack_words(
    head: Head,
    sizes: tuple[Fraction, Fraction, Fraction],
    sheets: Sequence[Sheet],
    shop_head: tuple[Fraction, Fraction] | None,
) -> str:
    diameter, length, hole = sizes
    layers = ", ".join(
        f"{_thick(each.thickness_in)} {each.preparation}" for each in sheets
    )
    driven = "not driven yet"
    if shop_head:
        across, height = map(print_size, shop_head)
        driven = f"driven head {across} across and {height} high"
    return (
        f"{rivet_words(head, diameter, length)}, cut along its axis, in sheets of "
        f"{layers} (from the top), hole {print_size(hole)}, {driven}; {head.note}."
    )


def _thick(inches: Fraction) -> str:
    """A sheet's thickness as the trade says it: '.040'."""
    return print_decimal(inches, places=3).removeprefix("0")
