"""A list on paper: a line for each thing to fetch, its code on the line."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inventory.labels.rules.layout import Drawn, Frame, corner
from inventory.labels.rules.sheets import POINTS_PER_MM, Rect
from inventory.labels.rules.symbols import (
    BAR_MM,
    QUIET_BARS,
    Box,
    Dots,
    bar_modules,
    bars,
)
from inventory.labels.rules.text import BOLD, PLAIN, TextLine, fitted, width
from inventory.trade import codes

SIDE, TOP, HEAD, ROW, NOTE, NOTE_LINE = 14.0, 12.0, 26.0, 19.0, 9.0, 4.2
# Of any paper here, less a word that goes to the next line.
NOTE_SIZE, LEAST_WIDTH = 9.5, 165.0
BARS_MM, NUMBER_MM, TICK_MM = 46.0, 24.0, 6.0
HAIRLINE = 0.4


@dataclass(frozen=True)
class PageHead:
    """What every page begins with; the code and the address of its QR may be empty."""

    title: str
    below: str
    code: str = ""
    address: str = ""


@dataclass(frozen=True)
class Wanted:
    """One line: what, how many are to take, two lines more of it, whose code."""

    words: str
    take: str = ""
    below: str = ""
    more: str = ""
    code: str = ""


@dataclass(frozen=True)
class Note:
    """A line of text only: the heading of what follows, or what to mind."""

    text: str
    heading: bool = False


Block = Wanted | Note


def worksheet(
    head: PageHead, blocks: Sequence[Block], page_mm: tuple[float, float], dots: Dots
) -> Iterator[Drawn]:
    """Heads and lines, page by page. Errors: `labels.url`."""
    pages = _paged(blocks, page_mm[1] - 2 * TOP - HEAD)
    for page, here in enumerate(pages):
        number = f"page {page + 1} of {len(pages)}" if len(pages) > 1 else ""
        below = " · ".join(part for part in (head.below, number) if part)
        wide = page_mm[0] - 2 * SIDE
        rect = Rect(SIDE, TOP, wide, HEAD)
        yield _head(head, below, (page, rect), Frame.of(rect, page_mm[1], dots))
        level = TOP + HEAD
        for block in here:
            high = _height(block)
            rect = Rect(SIDE, level, wide, high)
            yield _block(block, (page, rect), Frame.of(rect, page_mm[1], dots))
            level += high


def _height(block: Block) -> float:
    if not isinstance(block, Note):
        return ROW
    lines = 1 + int(width(block.text, PLAIN, NOTE_SIZE) / (LEAST_WIDTH * POINTS_PER_MM))
    return NOTE if block.heading else NOTE_LINE * lines + 1


def _paged(blocks: Sequence[Block], room: float) -> list[list[Block]]:
    """What each page holds; a heading never stands alone at a page's foot."""
    pages: list[list[Block]] = [[]]
    left = room
    for block in blocks:
        needs = _height(block)
        heading = isinstance(block, Note) and block.heading
        if left < needs + (ROW if heading else 0):
            pages.append([])
            left = room
        pages[-1].append(block)
        left -= needs
    return pages


def _head(head: PageHead, below: str, place: tuple[int, Rect], frame: Frame) -> Drawn:
    squares, aside = corner(head.address, frame, frame.bottom + 6)
    across = frame.width - aside - BARS_MM * POINTS_PER_MM
    lines = fitted(head.title, (frame.left, frame.top, across, 34.0), 20.0, BOLD)
    lines += fitted(below, (frame.left, frame.top - 36.0, across, 26.0), 9.5)
    rule = Box(frame.left, frame.bottom + 4, frame.width, 1.2)
    boxes = [*squares, rule]
    if head.code:
        marks, clear = _bars(head.code, frame, 12.0, aside)
        boxes, lines = [*boxes, *marks], [*lines, clear]
    return Drawn(*place, head.code, head.address, lines, boxes)


def _block(block: Block, place: tuple[int, Rect], frame: Frame) -> Drawn:
    if isinstance(block, Note):
        return _note(block, place, frame)
    return _line(block, place, frame)


def _note(note: Note, place: tuple[int, Rect], frame: Frame) -> Drawn:
    size, font = (13.0, BOLD) if note.heading else (NOTE_SIZE, PLAIN)
    above = 8.0 if note.heading else 2.0
    box = (frame.left, frame.top - above, frame.width, frame.height - above)
    return Drawn(*place, "", "", fitted(note.text, box, size, font))


def _line(row: Wanted, place: tuple[int, Rect], frame: Frame) -> Drawn:
    point = POINTS_PER_MM
    left = frame.left + (TICK_MM + 2) * point
    across = frame.width - (TICK_MM + 4 + NUMBER_MM + BARS_MM) * point
    lines = fitted(row.words, (left, frame.top - 3, across, 26.0), 12.5, BOLD)
    lines += fitted(row.below, (left, frame.top - 27, across, 11.0), 8.5)
    lines += fitted(row.more, (left, frame.top - 38, across, 11.0), 8.5)
    number = (left + across + 2 * point, frame.top - 3, NUMBER_MM * point, 22.0)
    lines += fitted(row.take, number, 19.0, BOLD)
    boxes = [*_tick(frame), Box(frame.left, frame.bottom, frame.width, HAIRLINE)]
    if row.code:
        marks, clear = _bars(row.code, frame, 9.0)
        boxes, lines = [*boxes, *marks], [*lines, clear]
    return Drawn(*place, row.code, "", lines, boxes)


def _bars(
    code: str, frame: Frame, height_mm: float, aside: float = 0.0
) -> tuple[list[Box], TextLine]:
    """The bars at the right end, their quiet zone kept, and the code in the clear."""
    modules, size = bar_modules(code), frame.dots.module(BAR_MM)
    wide = (len(modules) + QUIET_BARS) * size * frame.dots.point
    start = frame.left + frame.width - aside - wide
    height = height_mm * POINTS_PER_MM
    level = frame.top - 2 * POINTS_PER_MM - height
    found = bars(modules, start, level, height, size, frame.dots)
    clear = codes.in_the_clear(code)
    return found, TextLine(clear, found[0].x, level - 8.0, PLAIN, 7.0)


def _tick(frame: Frame) -> list[Box]:
    """An empty square to tick off with a pencil."""
    side, left = TICK_MM * POINTS_PER_MM, frame.left
    low = frame.top - 5 - side
    return [
        Box(left, low, side, HAIRLINE * 2),
        Box(left, low + side, side + HAIRLINE * 2, HAIRLINE * 2),
        Box(left, low, HAIRLINE * 2, side),
        Box(left + side, low, HAIRLINE * 2, side),
    ]
