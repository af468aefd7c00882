"""A work sheet: one assembly, a line for each item it asks, a code on every line."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inventory.labels.rules.layout import Drawn, Frame
from inventory.labels.rules.sheets import POINTS_PER_MM, Rect
from inventory.labels.rules.symbols import (
    BAR_MM,
    QUIET_BARS,
    Box,
    Dots,
    bar_modules,
    bars,
)
from inventory.labels.rules.text import BOLD, PLAIN, Line, fitted
from inventory.trade import codes

PAGE = (210.0, 297.0)
SIDE, TOP, HEAD, ROW = 14.0, 12.0, 26.0, 19.0
WIDTH = PAGE[0] - 2 * SIDE
ROWS_A_PAGE = int((PAGE[1] - 2 * TOP - HEAD) / ROW)
BARS_MM, NUMBER_MM, TICK_MM = 46.0, 24.0, 6.0
HAIRLINE = 0.4


@dataclass(frozen=True)
class Wanted:
    """One line: what, how many are still to take, from which bin (None: from none)."""

    words: str
    take: int
    unit: str = "pcs"
    callout: str = ""
    bin_code: str = ""
    spot: str = ""


def worksheet(
    title: str, below: str, code: str, rows: Sequence[Wanted], dots: Dots
) -> Iterator[Drawn]:
    """The sheet's heads and lines, page by page; every page carries the head."""
    pages = max(1, -(-len(rows) // ROWS_A_PAGE))
    for page in range(pages):
        number = f"page {page + 1} of {pages}" if pages > 1 else ""
        said = " · ".join(part for part in (below, number) if part)
        yield _head(title, said, code, page, dots)
        here = rows[page * ROWS_A_PAGE : (page + 1) * ROWS_A_PAGE]
        for at, row in enumerate(here):
            rect = Rect(SIDE, TOP + HEAD + at * ROW, WIDTH, ROW)
            yield _line(row, page, rect, dots)


def _head(title: str, below: str, code: str, page: int, dots: Dots) -> Drawn:
    rect = Rect(SIDE, TOP, WIDTH, HEAD)
    frame = Frame.of(rect, PAGE[1], dots)
    across = frame.width - BARS_MM * POINTS_PER_MM
    lines = fitted(title, (frame.left, frame.top, across, 34.0), 20.0, BOLD)
    lines += fitted(below, (frame.left, frame.top - 36.0, across, 26.0), 9.5)
    boxes = _bars(code, frame, 12.0)
    clear = codes.in_the_clear(code)
    start = min(box.x for box in boxes)
    lines.append(Line(clear, start, min(b.y for b in boxes) - 8.5, PLAIN, 7.5))
    rule = Box(frame.left, frame.bottom + 4, frame.width, 1.2)
    return Drawn(page, rect, code, "", lines, [*boxes, rule])


def _line(row: Wanted, page: int, rect: Rect, dots: Dots) -> Drawn:
    frame = Frame.of(rect, PAGE[1], dots)
    point = POINTS_PER_MM
    left = frame.left + (TICK_MM + 2) * point
    across = frame.width - (TICK_MM + 4 + NUMBER_MM + BARS_MM) * point
    where = [row.callout, row.spot if row.bin_code else "no bin holds it"]
    below = " · ".join(part for part in where if part)
    lines = fitted(row.words, (left, frame.top - 3, across, 26.0), 12.5, BOLD)
    lines += fitted(below, (left, frame.top - 30, across, 18.0), 8.5)
    number = (left + across + 2 * point, frame.top - 3, NUMBER_MM * point, 22.0)
    unit = "" if row.unit == "pcs" else f" {row.unit}"
    lines += fitted(f"{row.take}{unit}", number, 19.0, BOLD)
    boxes = [*_tick(frame), Box(frame.left, frame.bottom, frame.width, HAIRLINE)]
    if row.bin_code:
        marks = _bars(row.bin_code, frame, 9.0)
        start, foot = min(b.x for b in marks), min(b.y for b in marks)
        clear = codes.in_the_clear(row.bin_code)
        lines.append(Line(clear, start, foot - 8.0, PLAIN, 7.0))
        boxes += marks
    return Drawn(page, rect, row.bin_code, "", lines, boxes)


def _bars(code: str, frame: Frame, height_mm: float) -> list[Box]:
    """The bars at the right end, their quiet zone kept."""
    modules, size = bar_modules(code), frame.dots.module(BAR_MM)
    dot = frame.dots.point
    start = frame.left + frame.width - (len(modules) + QUIET_BARS) * size * dot
    height = height_mm * POINTS_PER_MM
    level = frame.top - 2 * POINTS_PER_MM - height
    return bars(modules, start, level, height, size, frame.dots)


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
