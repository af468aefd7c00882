"""The builder's log on paper: headings, lines, a table and pictures, page after page."""

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from xml.sax.saxutils import escape

from PIL import Image as Picture
from reportlab.lib import colors
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    Flowable,
    Image,
    KeepTogether,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
)

from inventory.labels.rules.text import BOLD, PLAIN, clean, dressed

SIDE, FOOT = 16 * mm, 18 * mm
# A picture fits into this; the log is read, not hung on a wall.
PICTURE = (84 * mm, 63 * mm)
RULE = colors.Color(0.45, 0.5, 0.53)
SIZES = {"title": 20.0, "stage": 15.0, "heading": 12.5, "line": 9.5, "small": 8.0}


@dataclass(frozen=True)
class Part:
    """A heading, what is said below it, a table (its first row names it), pictures."""

    heading: str
    lines: Sequence[str] = ()
    rows: Sequence[Sequence[str]] = ()
    pictures: Sequence[tuple[Path, str]] = ()
    opens_stage: bool = False


@dataclass(frozen=True)
class LogSheet:
    """All of a log: its title, a line below, its parts, and what stands at each foot."""

    title: str
    below: str
    parts: Sequence[Part]
    foot: str


def log_pdf(sheet: LogSheet, page_mm: tuple[float, float]) -> bytes:
    """The pages, numbered. Whatever the text holds is printed as text."""
    file = io.BytesIO()
    wide = page_mm[0] * mm - 2 * SIDE
    document = SimpleDocTemplate(
        file,
        pagesize=(page_mm[0] * mm, page_mm[1] * mm),
        leftMargin=SIDE,
        rightMargin=SIDE,
        topMargin=SIDE,
        bottomMargin=FOOT,
        title=clean(sheet.title),
    )
    story: list[Flowable] = [
        _said(sheet.title, "title", BOLD),
        _said(sheet.below, "line"),
    ]
    for part in sheet.parts:
        story.extend(_part(part, wide))
    foot = partial(_foot, text=sheet.foot)
    document.build(story, onFirstPage=foot, onLaterPages=foot)
    return file.getvalue()


def _said(text: str, size: str, font: str = PLAIN) -> Paragraph:
    text, font = dressed(clean(text), font)
    points = SIZES[size]
    style = ParagraphStyle(
        size,
        fontName=font,
        fontSize=points,
        leading=points * 1.25,
        spaceBefore=points * 0.7 if points > SIZES["line"] else 0,
        splitLongWords=True,
    )
    return Paragraph(escape(text), style)


def _part(part: Part, wide: float) -> Iterator[Flowable]:
    size = "stage" if part.opens_stage else "heading"
    heading = _said(part.heading, size, BOLD)
    lines: list[Flowable] = [_said(text, "line") for text in part.lines]
    # A heading never stands alone at a page's foot.
    yield KeepTogether([heading, *lines[:2]])
    yield from lines[2:]
    if part.rows:
        yield _table(part.rows, wide)
    for path, words in part.pictures:
        yield Spacer(0, 2 * mm)
        yield _picture(path, words)


def _table(rows: Sequence[Sequence[str]], wide: float) -> Table:
    head, *rest = rows
    cells = [[_said(text, "small", BOLD) for text in head]]
    cells += [[_said(text, "small") for text in row] for row in rest]
    first = wide * 0.4
    others = (wide - first) / (len(head) - 1)
    return Table(
        cells,
        colWidths=[first, *[others] * (len(head) - 1)],
        repeatRows=1,
        hAlign="LEFT",
        spaceBefore=1.5 * mm,
        style=[
            ("LINEBELOW", (0, 0), (-1, 0), 1, colors.black),
            ("LINEBELOW", (0, 1), (-1, -1), 0.3, RULE),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 1.5),
            ("RIGHTPADDING", (0, 0), (-1, -1), 3),
            ("TOPPADDING", (0, 0), (-1, -1), 1.5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
        ],
    )


def _picture(path: Path, words: str) -> Flowable:
    try:
        with Picture.open(path) as found:
            across, down = found.size
    except OSError:
        return _said(f"{words}: its file is gone from the shop's folder.", "line")
    scale = min(PICTURE[0] / across, PICTURE[1] / down)
    shown = Image(str(path), across * scale, down * scale, lazy=2, hAlign="LEFT")
    return KeepTogether([shown, _said(words, "small")])


def _foot(canvas: Canvas, document: SimpleDocTemplate, text: str) -> None:
    canvas.saveState()
    words, font = dressed(clean(text), PLAIN)
    canvas.setFont(font, 7.5)
    canvas.drawString(SIDE, FOOT * 0.5, words)
    right = document.pagesize[0] - SIDE
    canvas.drawRightString(right, FOOT * 0.5, f"page {canvas.getPageNumber()}")
    canvas.restoreState()
