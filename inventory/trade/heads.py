"""Rivet heads from the side, true to their dimensions as far as those are known."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.trade import tables
from inventory.trade.drawing import Point, Shape, both_sides
from inventory.trade.sizes import print_size

# The flush head's cone: 100 deg across, so 50 deg off the axis.
CONE = math.radians(50)

CURVE = 16  # points to a curve

_HEAD_KEYS = {"flush": "MS20426", "universal": "MS20470"}
_OVER = 0.08  # how far an axis runs on past its part, of the part's length


@dataclass(frozen=True, slots=True)
class Head:
    """A rivet head in inches; `note` says how its dimensions are known."""

    style: str
    across: float
    height: float
    note: str

    @property
    def is_flush(self) -> bool:
        return self.style == "flush"


def head_of(style: str, diameter: Fraction) -> Head | None:
    """A head's dimensions: from the table of heads, from memory.

    A protruding head that the table lacks is taken as 2D across and 0.43D high, and
    its note says so. None for a flush head of unknown dimensions.
    """
    row = tables.index("rivet_heads", "key", "diameter_32nds").get(
        (_HEAD_KEYS.get(style, ""), str(diameter * 32))
    )
    if row:
        across, height = float(row["head_diameter_in"]), float(row["head_height_in"])
        return Head(style, across, height, f"head dimensions {row['certainty']}")
    if "flush" in style:
        return None
    note = "head not known here, drawn as a guess 2 diameters wide and 0.43 high"
    return Head(style, float(2 * diameter), float(diameter) * 0.43, note)


def above(head: Head, radius: float) -> list[Point]:
    """The right half of a head: over its underside at nought, or down from its top.

    A flush head ends where its cone meets the shank of this radius, in inches.
    """
    edge = head.across / 2
    if head.is_flush:
        return [(0.0, 0.0), (edge, 0.0), (radius, (edge - radius) / math.tan(CONE))]
    if head.style == "flat":
        return [(0.0, -head.height), (edge, -head.height), (edge, 0.0), (radius, 0.0)]
    return [*_dome(edge, head.height), (radius, 0.0)]


def _dome(edge: float, height: float) -> list[Point]:
    """A part of a circle: the curve of a protruding head, simplified."""
    round_by = (edge**2 + height**2) / (2 * height)
    widest = math.asin(edge / round_by) if height < edge else math.pi / 2
    turns = [widest * step / CURVE for step in range(CURVE + 1)]
    return [
        (round_by * math.sin(turn), round_by - height - round_by * math.cos(turn))
        for turn in turns
    ]


def with_axis(shapes: Sequence[Shape]) -> tuple[Shape, ...]:
    """Shapes around the axis x = 0, and the axis itself, running on past them."""
    ys = [y for each in shapes for _, y in each.points]
    over = (max(ys) - min(ys)) * _OVER
    return (*shapes, Shape("axis", ((0.0, min(ys) - over), (0.0, max(ys) + over))))


def rivet_shape(head: Head, diameter: Fraction, length: Fraction) -> Shape:
    """A solid rivet before it is driven; its length, in inches, is from nought."""
    radius, end = float(diameter) / 2, float(length)
    profile = [*above(head, radius), (radius, end), (0.0, end)]
    return both_sides("part", profile)


def rivet_words(head: Head, diameter: Fraction, length: Fraction) -> str:
    """'A 1/8 universal rivet, 5/16 long under the head'."""
    datum = "overall" if head.is_flush else "under the head"
    return f"A {print_size(diameter)} {head.style} rivet, {print_size(length)} long {datum}"
