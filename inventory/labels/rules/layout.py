"""What stands where on a label: words first and big, the code in both symbols."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from inventory.errors import Refused
from inventory.labels.rules.sheets import (
    LEAST_LABEL_MM,
    LONGEST_LABEL_MM,
    POINTS_PER_MM,
    SHORTEST_CUT_MM,
    LabelSheet,
    Rect,
)
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
from inventory.labels.rules.text import BOLD, PLAIN, TextLine, fitted, width
from inventory.trade import codes
from inventory.trade.drawing import LINES, Drawing, laid_down
from inventory.trade.drawing import fitted as fitted_box

EDGE_MM, GAP_MM = 1.2, 0.8
# The words keep at least this share of the label's width beside the true-size outline.
WORDS_SHARE = 0.4
# The words' and the small lines' sizes in points, and how far apart lines stand.
LARGE, SMALL, LINE = 13.0, 7.6, 1.2
# What stands under an outline, and beside the bars where so much room is left.
CAPTION, CAPTION_SIZE = "lay one on it", 5.0
MARK_MM, LEAST_MARK = 8.0, 6.5
# Points on a page, closed.
Outline = tuple[tuple[float, float], ...]
LEAST_MODULE_MM = 0.25


@dataclass(frozen=True)
class Content:
    """What one label says. `address` stands in its QR code; empty for none.

    `drawing` is the fastener's outline: drawn at true size, so that one from the tin can
    be laid on it, or not at all. `mark` is what tells it from its look-alikes, big at
    the foot: its alloy's letters, its dash.
    """

    words: str
    code: str
    callout: str = ""
    spot: str = ""
    address: str = ""
    drawing: Drawing | None = None
    mark: tuple[str, ...] = ()


@dataclass(frozen=True)
class Drawn:
    """A label's marks on its page, and what must be read back from its rectangle.

    `paper` is its page's size in millimetres where the pages are not all alike.
    """

    page: int
    rect: Rect
    code: str
    address: str
    lines: Sequence[TextLine] = field(default=(), repr=False)
    boxes: Sequence[Box] = field(default=(), repr=False)
    outlines: Sequence[Outline] = field(default=(), repr=False)
    paper: tuple[float, float] | None = None


@dataclass(frozen=True)
class _Shown:
    """The outline with its caption, the width both take in points, and what the
    caption takes of the row below where there is no room above it."""

    outlines: Sequence[Outline] = ()
    lines: Sequence[TextLine] = ()
    width: float = 0.0
    below: float = 0.0


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


def label(content: Content, place: tuple[int, Rect], frame: Frame) -> Drawn:
    """A bin's label: words and QR above, bars at the foot.

    Errors: `labels.url`, `labels.size`.
    """
    edge, gap = EDGE_MM * POINTS_PER_MM, GAP_MM * POINTS_PER_MM
    foot = min(max(8.0, 0.27 * place[1].height), 12.0) * POINTS_PER_MM
    level = frame.bottom + edge
    boxes, free = _foot(content, frame, level, foot)
    above = level + foot + gap
    marks, aside = corner(content.address, frame, above)
    scale = 1.0 if place[1].height < 30 else 1.3
    row = SMALL * scale * LINE
    shown = _true_size(content.drawing, frame, above + row, aside)
    mark = _mark(content.mark, free)
    across = frame.width - aside - edge - gap
    lines = _block(
        content,
        (
            frame.left + edge,
            frame.top - edge * 0.7,
            across - shown.width,
            across - shown.below,
        ),
        above,
        scale,
        BOLD if content.mark and not mark else PLAIN,
    )
    return Drawn(
        *place,
        content.code,
        content.address,
        [*lines, *shown.lines, *mark],
        [*boxes, *marks],
        shown.outlines,
    )


def cut_to_fit(
    content: Content,
    paper: LabelSheet,
    page: int,
    dots: Dots,
    offset_mm: tuple[float, float] = (0.0, 0.0),
) -> Drawn:
    """A label of a roll, as long as its words at their full size and its outline take.

    What no length can make fit is left out or set smaller. Errors: as `label`.
    """
    longest = _cut(content, paper, page, (LONGEST_LABEL_MM, dots), offset_mm)
    for length in range(SHORTEST_CUT_MM, int(LONGEST_LABEL_MM)):
        drawn = _cut(content, paper, page, (length, dots), offset_mm)
        if drawn.lines[0].size >= LARGE and bool(drawn.outlines) == bool(
            longest.outlines
        ):
            return drawn
    return longest


def _cut(
    content: Content,
    paper: LabelSheet,
    page: int,
    how: tuple[float, Dots],
    offset_mm: tuple[float, float],
) -> Drawn:
    length, dots = how
    size = (paper.page[0], length)
    cut = replace(paper, page=size, label=(paper.label[0], length))
    ((_page, rect),) = cut.places(1, 0, offset_mm)
    drawn = label(content, (page, rect), Frame.of(rect, length, dots))
    return replace(drawn, paper=size)


def _mark(
    texts: Sequence[str], free: tuple[float, float, float, float]
) -> list[TextLine]:
    """Beside the bars, one above the other; left out where it would not be read."""
    left, top, across, down = free
    if not texts or across <= 0:
        return []
    row = down / len(texts)
    lines = [
        line
        for at, text in enumerate(texts)
        for line in fitted(text, (left, top - at * row, across, row), LARGE, BOLD)
    ]
    legible = all(line.size >= LEAST_MARK for line in lines)
    return lines if legible and len(lines) == len(texts) else []


def _true_size(
    drawing: Drawing | None, frame: Frame, floor: float, aside: float
) -> _Shown:
    """The fastener's outline left of the QR, standing or lying, its caption under it.

    Never smaller than it is: where it does not fit, it is left out.
    """
    if drawing is None:
        return _Shown()
    edge, said = EDGE_MM * POINTS_PER_MM, width(CAPTION, PLAIN, CAPTION_SIZE)
    room = frame.top - edge - floor
    most = frame.width * (1 - WORDS_SHARE) - aside - 3 * edge
    lying = fitted_box(drawing.words, laid_down(drawing.shapes))
    for under in (CAPTION_SIZE * LINE, 0.0):
        ways = [
            way
            for way in (drawing, lying)
            if way.height_in * 72 <= room - under
            and max(way.width_in * 72, said) <= most
        ]
        if ways:
            way = min(ways, key=lambda each: each.width_in)
            right = frame.left + frame.width - aside - edge
            top = frame.top - edge - (room - under - way.height_in * 72) / 2
            foot = top - way.height_in * 72 if under else floor
            return _shown(way, (right, top, foot), 0.0 if under else said + edge)
    return _Shown()


def _shown(way: Drawing, at: tuple[float, float, float], below: float) -> _Shown:
    """An outline whose box ends at the right and top given, its caption under a foot."""
    right, top, foot = at
    wide, said = way.width_in * 72, width(CAPTION, PLAIN, CAPTION_SIZE)
    across = max(wide, said)
    left = right - (across + wide) / 2
    outlines = [
        tuple((left + x * 72, top - y * 72) for x, y in shape.points)
        for shape in way.shapes
        if shape.kind not in LINES
    ]
    start = right - (across + said) / 2
    caption = TextLine(CAPTION, start, foot - CAPTION_SIZE, PLAIN, CAPTION_SIZE)
    width_taken = across + 2 * EDGE_MM * POINTS_PER_MM
    return _Shown(outlines, [caption], width_taken, below)


def tag(content: Content, place: tuple[int, Rect], frame: Frame) -> Drawn:
    """A small tag: the bare code in squares, the words beside it, a line to cut along.

    Errors: `labels.url`.
    """
    edge = EDGE_MM * POINTS_PER_MM
    marks, aside = corner(content.code, frame, frame.bottom)
    across, small = frame.width - aside - edge, 6.0
    left, top = frame.left + edge, frame.top - edge / 2
    down = frame.height - small * LINE - edge
    lines = fitted(content.words, (left, top, across, down), 9.5, BOLD)
    clear = codes.in_the_clear(content.code)
    lines += fitted(clear, (left, top - down, across, small * LINE), small)
    right, foot = frame.left + frame.width, frame.bottom
    around: Outline = (
        (frame.left, foot),
        (right, foot),
        (right, frame.top),
        (frame.left, frame.top),
    )
    return Drawn(*place, content.code, "", lines, marks, [around])


def card(content: Content, place: tuple[int, Rect], frame: Frame) -> Drawn:
    """A card: a word, what it does (the callout's line), bars, the code in the clear."""
    edge = EDGE_MM * POINTS_PER_MM
    small = 7.0
    foot = 10 * POINTS_PER_MM
    level = frame.bottom + edge + small * LINE
    boxes, _free = _foot(content, frame, level, foot)
    start = min(box.x for box in boxes)
    across = frame.left + frame.width - edge - start
    room = frame.top - level - foot - edge
    tells = 2 * small * LINE if content.callout else 0.0
    box = (start, frame.top, across, room - tells)
    lines = fitted(content.words, box, 20.0, BOLD)
    beneath = (start, frame.top - room + tells, across, tells)
    lines += fitted(content.callout, beneath, small + 0.5)
    clear = codes.in_the_clear(content.code)
    lines.append(TextLine(clear, start, frame.bottom + edge, PLAIN, small))
    return Drawn(*place, content.code, "", lines, boxes)


def _foot(
    content: Content, frame: Frame, level: float, height: float
) -> tuple[list[Box], tuple[float, float, float, float]]:
    """The bars, up to a quarter wider than usual where there is room, and what is free
    right of their quiet zone: left, top, width, height.

    Errors: `labels.size`.
    """
    modules, dot = bar_modules(content.code), frame.dots.point
    usual, edge = frame.dots.module(BAR_MM), EDGE_MM * POINTS_PER_MM
    cells = len(modules) + 2 * QUIET_BARS
    most = int(frame.width / dot / cells)
    beside = MARK_MM * POINTS_PER_MM if content.mark else 0.0
    roomy = int((frame.width - beside) / dot / cells)
    size = min(most, max(min(roomy, usual * 5 // 4), usual))
    if size * dot < LEAST_MODULE_MM * POINTS_PER_MM - 1e-9:
        raise Refused(
            "labels.size",
            f"The bars of {content.code} do not fit on a label so narrow: choose one "
            f"that is {LEAST_LABEL_MM[0]:.0f} mm wide at least.",
            {"code": content.code},
        )
    start = frame.left + max(QUIET_BARS * size * dot, edge)
    end = start + (len(modules) + QUIET_BARS) * size * dot
    across = frame.left + frame.width - edge - end
    found = bars(modules, start, level, height, size, frame.dots)
    return found, (end, level + height, across, height)


def corner(address: str, frame: Frame, above: float) -> tuple[list[Box], float]:
    """The QR in the upper right corner, and the width it takes with its quiet zone."""
    if not address:
        return [], 0.0
    modules = square_modules(address)
    cells = len(modules) + 2 * QUIET_SQUARES
    room = min(frame.top - above, 0.42 * frame.width)
    usual = frame.dots.module(SQUARE_MM)
    size = min(int(room / frame.dots.point / cells), usual * 7 // 5)
    if size * frame.dots.point < LEAST_MODULE_MM * POINTS_PER_MM - 1e-9:
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
    callout_font: str,
) -> list[TextLine]:
    """Words in what room is left, then the callout, then code and spot in one row.

    The corner is left, top, the width beside the outline, and the width under it.
    """
    left, top, across, below = corner
    small = SMALL * scale
    row = small * LINE
    words_down = top - floor - row * (2 if content.callout else 1)
    lines = fitted(content.words, (left, top, across, words_down), LARGE * scale, BOLD)
    if content.callout:
        box = (left, floor + 2 * row, across, row)
        lines += fitted(content.callout, box, small, callout_font)
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
