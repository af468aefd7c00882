"""What stands where on a label: words first and big, the code in both symbols."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from inventory.errors import Refused
from inventory.labels.rules.sheets import POINTS_PER_MM, Rect
from inventory.labels.rules.symbols import (
    BAR_MM,
    QUIET_BARS,
    QUIET_SQUARES,
    SQUARE_MM,
    Box,
    Dots,
    bar_modules,
    bars,
    square_modules,
    squares,
)
from inventory.labels.rules.text import BOLD, PLAIN, Line, fitted, width
from inventory.trade import codes
from inventory.trade.drawing import LINES, Drawing, laid_down
from inventory.trade.drawing import fitted as fitted_box

EDGE_MM, GAP_MM = 1.2, 0.8
# The words keep at least this share of the label's width beside the true-size outline.
WORDS_SHARE = 0.4
# The small lines' size in points, and how far apart lines stand.
SMALL, LINE = 7.6, 1.2
# Points on a page, closed.
Outline = tuple[tuple[float, float], ...]
LEAST_SQUARE_MM = 0.25


@dataclass(frozen=True)
class Content:
    """What one label says. `address` stands in its QR code; empty for none.

    `drawing` is the fastener's outline: drawn at true size, so that one from the tin can
    be laid on it, or not at all.
    """

    words: str
    code: str
    callout: str = ""
    spot: str = ""
    address: str = ""
    drawing: Drawing | None = None


@dataclass(frozen=True)
class Drawn:
    """A label's marks on its page, and what must be read back from its rectangle."""

    page: int
    rect: Rect
    code: str
    address: str
    lines: Sequence[Line] = field(default=(), repr=False)
    boxes: Sequence[Box] = field(default=(), repr=False)
    outlines: Sequence[Outline] = field(default=(), repr=False)


@dataclass(frozen=True)
class Frame:
    """A label's rectangle in points from the page's bottom left, with its dots."""

    left: float
    bottom: float
    width: float
    height: float
    dots: Dots

    @classmethod
    def of(cls, rect: Rect, page_height_mm: float, dots: Dots) -> "Frame":
        """Millimetres from the top become points from the bottom."""
        return cls(
            rect.left * POINTS_PER_MM,
            (page_height_mm - rect.top - rect.height) * POINTS_PER_MM,
            rect.width * POINTS_PER_MM,
            rect.height * POINTS_PER_MM,
            dots,
        )

    @property
    def top(self) -> float:
        """Its upper edge."""
        return self.bottom + self.height


def bin_address(shop_url: str, code: str) -> str:
    """The address in a bin label's QR: all capitals, which packs tighter."""
    return f"{shop_url.rstrip('/')}/S/{code}".upper()


def label(content: Content, place: tuple[int, Rect], frame: Frame) -> Drawn:
    """A bin's label: words and QR above, bars at the foot. Errors: `labels.url`."""
    edge, gap = EDGE_MM * POINTS_PER_MM, GAP_MM * POINTS_PER_MM
    foot = max(8.0, 0.27 * place[1].height) * POINTS_PER_MM
    level = frame.bottom + edge
    boxes = _foot(content.code, frame, level, foot)
    above = level + foot + gap
    marks, aside = _corner(content.address, frame, above)
    scale = 1.0 if place[1].height < 30 else 1.3
    row = SMALL * scale * LINE
    outlines, beside = _true_size(content.drawing, frame, above + row, aside)
    across = frame.width - aside - edge - gap
    lines = _block(
        content,
        (frame.left + edge, frame.top - edge * 0.7, across - beside, across),
        above,
        scale,
    )
    return Drawn(
        place[0],
        place[1],
        content.code,
        content.address,
        lines,
        [*boxes, *marks],
        outlines,
    )


def _true_size(
    drawing: Drawing | None, frame: Frame, floor: float, aside: float
) -> tuple[list[Outline], float]:
    """The fastener's outline left of the QR, standing or lying, and the width it takes.

    Never smaller than it is: where it does not fit, it is left out.
    """
    if drawing is None:
        return [], 0.0
    edge = EDGE_MM * POINTS_PER_MM
    room = frame.top - edge - floor
    most = frame.width * (1 - WORDS_SHARE) - aside - 3 * edge
    lying = fitted_box(drawing.words, laid_down(drawing.shapes))
    ways = [
        way
        for way in (drawing, lying)
        if way.height_in * 72 <= room and way.width_in * 72 <= most
    ]
    if not ways:
        return [], 0.0
    way = min(ways, key=lambda each: each.width_in)
    wide, high = way.width_in * 72, way.height_in * 72
    left = frame.left + frame.width - aside - edge - wide
    top = frame.top - edge - (room - high) / 2
    return [
        tuple((left + x * 72, top - y * 72) for x, y in shape.points)
        for shape in way.shapes
        if shape.kind not in LINES
    ], wide + 2 * edge


def card(content: Content, place: tuple[int, Rect], frame: Frame) -> Drawn:
    """A card: words, bars, the code in the clear."""
    edge = EDGE_MM * POINTS_PER_MM
    small = 7.0
    foot = 10 * POINTS_PER_MM
    level = frame.bottom + edge + small * 1.2
    boxes = _foot(content.code, frame, level, foot)
    start = min(box.x for box in boxes)
    across = frame.left + frame.width - edge - start
    room = frame.top - level - foot - edge
    words = fitted(content.words, (start, frame.top, across, room), 15.0, BOLD)
    clear = codes.in_the_clear(content.code)
    below = Line(clear, start, frame.bottom + edge, PLAIN, small)
    return Drawn(place[0], place[1], content.code, "", [*words, below], boxes)


def _foot(code: str, frame: Frame, level: float, height: float) -> list[Box]:
    """The bars, as wide as the label allows up to a quarter above the usual."""
    modules = bar_modules(code)
    usual = frame.dots.module(BAR_MM)
    most = int(frame.width / frame.dots.point / (len(modules) + 2 * QUIET_BARS))
    size = max(1, min(most, usual * 5 // 4))
    quiet = QUIET_BARS * size * frame.dots.point
    edge = EDGE_MM * POINTS_PER_MM
    start = frame.left + max(quiet, edge)
    return bars(modules, start, level, height, size, frame.dots)


def _corner(address: str, frame: Frame, above: float) -> tuple[list[Box], float]:
    """The QR in the upper right corner, and the width it takes with its quiet zone."""
    if not address:
        return [], 0.0
    modules = square_modules(address)
    cells = len(modules) + 2 * QUIET_SQUARES
    room = min(frame.top - above, 0.42 * frame.width)
    usual = frame.dots.module(SQUARE_MM)
    size = min(int(room / frame.dots.point / cells), usual * 7 // 5)
    if size * frame.dots.point < LEAST_SQUARE_MM * POINTS_PER_MM:
        raise Refused(
            "labels.url",
            "The shop's address is too long for a code on this label: use a larger "
            "sheet, or a shorter address.",
            {"address": address},
        )
    side = size * len(modules) * frame.dots.point
    quiet = QUIET_SQUARES * size * frame.dots.point
    left = frame.left + frame.width - quiet - side
    found = squares(modules, left, frame.top - quiet - side, size, frame.dots)
    return found, side + 2 * quiet


def _block(
    content: Content,
    corner: tuple[float, float, float, float],
    floor: float,
    scale: float,
) -> list[Line]:
    """Words in what room is left, then the callout, then code and spot in one row.

    The corner is left, top, the width beside the outline, and the width under it.
    """
    left, top, across, below = corner
    small = SMALL * scale
    row = small * LINE
    words_down = top - floor - row * (2 if content.callout else 1)
    lines = fitted(content.words, (left, top, across, words_down), 13 * scale, BOLD)
    if content.callout:
        box = (left, floor + 2 * row, across, row)
        lines += fitted(content.callout, box, small, PLAIN)
    clear = fitted(
        codes.in_the_clear(content.code), (left, floor + row, below, row), small, BOLD
    )
    used = width(clear[0].text, clear[0].font, clear[0].size) + small * 0.7
    spot = fitted(
        content.spot, (left + used, floor + row, below - used, row), small, PLAIN
    )
    if len(spot) == 1:
        spot = [replace(spot[0], y=clear[0].y)]
    return [*lines, *clear, *spot]
