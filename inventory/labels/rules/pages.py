"""Labels as the bytes of a PDF, and read back from its rendered pages."""

import io
from collections.abc import Iterator, Sequence
from itertools import groupby
from operator import attrgetter
from typing import Any

import pypdfium2  # type: ignore[import-untyped]
import zxingcpp
from PIL import Image
from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from inventory.errors import Refused
from inventory.labels.rules.layout import Drawn
from inventory.labels.rules.sheets import POINTS_PER_MM, Rect

try:  # the second reader needs a system library, which may be absent
    from pyzbar import pyzbar
except ImportError:
    pyzbar = None

FORMATS = zxingcpp.BarcodeFormats(
    [zxingcpp.BarcodeFormat.Code128, zxingcpp.BarcodeFormat.QRCode]
)
OUTLINE_POINTS = 0.4
rl_config.useA85 = 0  # plain bytes: a quarter smaller, and quicker to write
TITLE = "Labels: print at actual size (100 %), never 'fit to page'"


def pdf_of(drawn: Sequence[Drawn], page_mm: tuple[float, float]) -> bytes:
    """One PDF, true to scale; the same labels give the same bytes.

    A page is `page_mm` where its label does not say another size.
    """
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=_points(page_mm), invariant=1, pageCompression=1)
    canvas.setTitle(TITLE)
    canvas.setCreator("Gripcount")
    canvas.setViewerPreference("PrintScaling", "None")
    for _page, group in groupby(drawn, attrgetter("page")):
        for one in group:
            if one.paper:
                canvas.setPageSize(_points(one.paper))
            _draw(canvas, one)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _points(size_mm: tuple[float, float]) -> tuple[float, float]:
    return size_mm[0] * POINTS_PER_MM, size_mm[1] * POINTS_PER_MM


def _draw(canvas: Canvas, one: Drawn) -> None:
    path: Any = canvas.beginPath()
    # Written as the library would write them, only without its rounding of each number.
    path._code += [
        f"{box.x:.4f} {box.y:.4f} {box.width:.4f} {box.height:.4f} re"
        for box in one.boxes
    ]
    if one.boxes:
        canvas.drawPath(path, stroke=0, fill=1, fillMode=1)
    canvas.setLineWidth(OUTLINE_POINTS)
    for outline in one.outlines:
        path = canvas.beginPath()
        path.moveTo(*outline[0])
        for point in outline[1:]:
            path.lineTo(*point)
        path.close()
        canvas.drawPath(path, stroke=1, fill=0)
    for line in one.lines:
        canvas.setFont(line.font, line.size)
        canvas.drawString(line.x, line.y, line.text)


def rendered(pdf: bytes, dpi: int) -> Iterator[Image.Image]:
    """Each page in grey, as a printer of so many dots an inch would see it."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        for page in document:
            yield page.render(scale=dpi / 72, grayscale=True).to_pil().convert("L")
    finally:
        document.close()


def check(pdf: bytes, drawn: Sequence[Drawn], dpi: int) -> None:
    """Read every symbol back, each inside its own label, with every reader there is.

    Errors: `labels.unreadable` with the codes that failed.
    """
    wrong = []
    pages = rendered(pdf, dpi)
    for _page, group in groupby(drawn, attrgetter("page")):
        picture = next(pages)
        for one in group:
            wanted = sorted(text for text in (one.code, one.address) if text)
            part = picture.crop(_pixels(one.rect, dpi))
            if any(found != wanted for found in readings(part)):
                wrong.append(one.code)
    if wrong:
        raise Refused(
            "labels.unreadable",
            f"The label of {', '.join(wrong[:5])} could not be read back from the "
            "finished page, so nothing is printed: try another sheet or a shorter "
            "address.",
            {"codes": wrong},
        )


def readings(picture: Image.Image) -> Iterator[list[str]]:
    """The texts each reader finds in an upright picture, sorted.

    At the picture's own dots: made smaller first, three of the 10,000 bins' labels gave
    a second text that is not there (its check characters would be refused).
    """
    found = zxingcpp.read_barcodes(
        picture,
        formats=FORMATS,
        text_mode=zxingcpp.TextMode.Plain,
        try_downscale=False,
        try_rotate=False,
    )
    yield sorted(row.text for row in found)
    if pyzbar is not None:
        symbols = [pyzbar.ZBarSymbol.CODE128, pyzbar.ZBarSymbol.QRCODE]
        rows = pyzbar.decode(picture, symbols=symbols)
        yield sorted(row.data.decode() for row in rows)


def _pixels(rect: Rect, dpi: int) -> tuple[int, int, int, int]:
    scale = dpi / 25.4
    return (
        round(rect.left * scale),
        round(rect.top * scale),
        round((rect.left + rect.width) * scale),
        round((rect.top + rect.height) * scale),
    )
