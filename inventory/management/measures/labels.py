"""How long a thousand labels with Code 128 and QR take, and whether all read back."""

import time

from inventory.labels.rules import layout, pages
from inventory.labels.rules.addresses import bin_address
from inventory.labels.rules.layout import Content, Drawn, Frame
from inventory.labels.rules.saying import look_alike_mark
from inventory.labels.rules.sheets import sheet_called
from inventory.labels.rules.symbols import DPI, Dots
from inventory.management.measures.shape import AtMost, Measure, MeasuredRow
from inventory.trade import callouts, codes
from inventory.trade.outlines import outline_of

LABELS, TARGET_SECONDS = 1000, 5.0
CALLOUTS = ("MS20426AD3-3.5", "MS20470AD4-4", "AN3-5A", "MS20600AD4W3")


def take() -> tuple[MeasuredRow, ...]:
    """The drawing for each printer, and the reading back apart from it."""
    rows = [row for dpi in DPI for row in _at(dpi)]
    return tuple(rows)


def _at(dpi: int) -> tuple[MeasuredRow, ...]:
    began = time.process_time()
    drawn = _drawn(dpi)
    pdf = pages.pdf_of(drawn, sheet_called("single").page)
    drawing = time.process_time() - began
    began = time.process_time()
    pages.check(pdf, drawn, dpi)
    checking = time.process_time() - began
    how = (
        f"{LABELS:,} labels of 50 x 25 mm with Code 128, QR, words and a true-size "
        f"outline, {dpi} dots an inch, {len(pdf) // LABELS:,} bytes each; processor time"
    )
    return (
        AtMost(
            name=f"labels drawn, {dpi} dpi",
            figure=drawing,
            unit="s",
            ratio=drawing / checking,
            against="reading all of them back from the rendered page, none wrong",
            target=TARGET_SECONDS,
            how=how,
        ),
    )


def _drawn(dpi: int) -> list[Drawn]:
    paper, dots = sheet_called("single"), Dots(dpi)
    readings = [callouts.parse(callout) for callout in CALLOUTS]
    found = []
    for number, place in enumerate(paper.places(LABELS)):
        reading = readings[number % len(readings)]
        code = codes.make("B", number)
        content = Content(
            words=reading.words,
            code=code,
            callout=reading.callout,
            spot=f"rack A, drawer {number}",
            address=bin_address("http://shop.local:8040", code),
            drawing=outline_of(reading),
            mark=look_alike_mark(reading),
        )
        found.append(
            layout.label(content, place, Frame.of(place[1], paper.page[1], dots))
        )
    return found


MEASURE = Measure(
    name="labels",
    tells="how long a thousand labels take to draw, all of which read back",
    take=take,
)
