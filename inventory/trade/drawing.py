"""A drawing to scale: outlines in inches, for a page or a label to paint."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.trade.sizes import print_size

Point = tuple[float, float]

# Painted as lines; every other kind is a closed outline.
LINES = ("axis", "line")
# A screen counts 96 dots to the inch, whatever its glass measures.
DOTS = 96
_SIZES = (
    *(Fraction(1, 8), Fraction(1, 4), Fraction(1, 2), Fraction(1), Fraction(3, 2)),
    *(Fraction(2), Fraction(5, 2)),
    *map(Fraction, (3, 4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 20, 25, 32, 40)),
)
_BARS = tuple(Fraction(1, under) for under in (64, 32, 16, 8, 4, 2, 1))
_UNITS = 1000


@dataclass(frozen=True, slots=True)
class Shape:
    """One closed outline, points in inches, x to the right and y down.

    `kind` is what it shows: 'part' (the fastener), 'head' (the driven head), 'sheet',
    'sheet_other' (the next sheet of a stack), 'tool', 'hole' (seen through), or, as
    open lines, 'axis' and 'line'.
    """

    kind: str
    points: tuple[Point, ...]

    @property
    def across(self) -> float:
        """Inches from its leftmost to its rightmost point."""
        return max(x for x, _ in self.points) - min(x for x, _ in self.points)

    @property
    def tall(self) -> float:
        """Inches from its highest to its lowest point."""
        return max(y for _, y in self.points) - min(y for _, y in self.points)


@dataclass(frozen=True, slots=True)
class Drawing:
    """Shapes inside a box of inches from nought; `words` says what is seen."""

    words: str
    width_in: float
    height_in: float
    shapes: tuple[Shape, ...]


def both_sides(kind: str, profile: Sequence[Point]) -> Shape:
    """A round thing seen from the side: its right half, and the same on the left."""
    mirrored = tuple((-x, y) for x, y in reversed(profile))
    return Shape(kind, (*profile, *mirrored))


def moved(shapes: Iterable[Shape], right: float, down: float) -> tuple[Shape, ...]:
    """The shapes this many inches further on."""
    return tuple(
        Shape(each.kind, tuple((x + right, y + down) for x, y in each.points))
        for each in shapes
    )


def laid_down(shapes: Iterable[Shape]) -> tuple[Shape, ...]:
    """A quarter turn: what was on top is at the left."""
    return tuple(
        Shape(each.kind, tuple((y, -x) for x, y in each.points)) for each in shapes
    )


def fitted(words: str, shapes: Sequence[Shape]) -> Drawing:
    """A drawing whose box is as large as its shapes."""
    xs = [x for each in shapes for x, _ in each.points]
    ys = [y for each in shapes for _, y in each.points]
    return Drawing(
        words,
        max(xs) - min(xs),
        max(ys) - min(ys),
        moved(shapes, -min(xs), -min(ys)),
    )


@dataclass(frozen=True, slots=True)
class Outline:
    """A shape as a painter takes it: points in thousandths, as text."""

    kind: str
    points: str
    is_line: bool


@dataclass(frozen=True, slots=True)
class Painting:
    """A drawing at the scale that fits, in thousandths of an inch.

    `times` is the magnification at 96 dots to the inch, `bar` the length in inches
    that the scale bar stands for.
    """

    words: str
    times: Fraction
    bar_in: Fraction
    width: int
    height: int
    edge: int
    outlines: tuple[Outline, ...]

    @property
    def width_dots(self) -> int:
        return _dots(self.width + 2 * self.edge, self.times)

    @property
    def height_dots(self) -> int:
        return _dots(self.box_height, self.times)

    @property
    def box(self) -> str:
        """The view box, with an edge around the drawing and the bar under it."""
        return f"{-self.edge} {-self.edge} {self.width + 2 * self.edge} " + str(
            self.box_height
        )

    @property
    def box_height(self) -> int:
        return self.height + 5 * self.edge

    @property
    def bar(self) -> str:
        """The scale bar: a line with a tick at either end, under the drawing."""
        long, top = int(self.bar_in * _UNITS), self.height + 2 * self.edge
        half = self.edge // 2
        return f"M0 {top - half}v{2 * half}m0 {-half}h{long}m0 {-half}v{2 * half}"

    @property
    def bar_words(self) -> str:
        return f"{print_size(self.bar_in)} in"

    @property
    def scale_words(self) -> str:
        """'about 8 times size': a screen's own inch is never quite one."""
        if self.times == 1:
            return "about true size"
        if self.times < 1:
            return f"about {self.times} of its size"
        return f"about {print_size(self.times)} times size"


def _dots(units: int, times: Fraction) -> int:
    return round(units * times * DOTS / _UNITS)


def painted(drawing: Drawing, width: int = 280, height: int = 260) -> Painting:
    """The drawing as large as these dots take it, at a magnification that has a name.

    Without a size that fits, the smallest there is.
    """
    fitting = [
        times
        for times in _SIZES
        if drawing.width_in * times * DOTS <= width
        and drawing.height_in * times * DOTS <= height
    ]
    times = max(fitting, default=_SIZES[0])
    bars = [bar for bar in _BARS if bar * times * DOTS <= width / 3]
    return Painting(
        words=drawing.words,
        times=times,
        bar_in=max(bars, default=_BARS[0]),
        width=round(drawing.width_in * _UNITS),
        height=round(drawing.height_in * _UNITS),
        edge=int(10 * _UNITS / (DOTS * times)),
        outlines=tuple(map(_outline, drawing.shapes)),
    )


def _outline(shape: Shape) -> Outline:
    points = " ".join(f"{x * _UNITS:.1f},{y * _UNITS:.1f}" for x, y in shape.points)
    return Outline(shape.kind, points, shape.kind in LINES)
