"""Own sheets and rolls, true size, tags, badges: measured on the rendered page."""

import numpy as np
import pytest

from inventory.errors import Refused
from inventory.labels.rules import layout, pages
from inventory.labels.rules.layout import Content, Frame
from inventory.labels.rules.sheets import SHEETS, own_sheet, roll
from inventory.labels.rules.symbols import DPI, Dots
from inventory.trade import callouts, codes
from inventory.trade.outlines import outline_of


def drawn_on(paper, contents, dpi):
    dots = Dots(dpi)
    places = paper.places(len(contents))
    drawn = [
        layout.label(content, place, Frame.of(place[1], paper.page[1], dots))
        for content, place in zip(contents, places, strict=True)
    ]
    pdf = pages.pdf_of(drawn, paper.page)
    pages.check(pdf, drawn, dpi)
    return drawn, pdf


def content(callout, number=7):
    reading = callouts.parse(callout)
    code = codes.make("B", number)
    address = layout.bin_address("http://shop.local", code)
    return Content(reading.words, code, callout, "rack A", address, outline_of(reading))


@pytest.mark.parametrize("dpi", DPI)
@pytest.mark.parametrize(
    "paper",
    [
        SHEETS["single"],
        SHEETS["a4"],
        roll(62, 58, 25),
        own_sheet((100, 150), (45, 22), (2, 6), (4, 5), (47, 24)),
    ],
    ids=["50 x 25", "A4", "roll", "own"],
)
def test_every_code_reads_back_at_every_printer(paper, dpi):
    drawn_on(paper, [content("MS20426AD3-3.5")], dpi)


# Nominal sizes by MS20470 and MS20426 as tests/checks/trade has them: published.
@pytest.mark.parametrize(
    ("callout", "long_in"), [("MS20470AD4-4", 0.250), ("MS20426AD3-3.5", 0.21875)]
)
def test_the_outline_is_true_to_size(callout, long_in):
    """The shank from under the head (or over all, flush) to its end, at 600 dpi."""
    (one,), pdf = drawn_on(SHEETS["single"], [content(callout)], 600)
    (outline,) = one.outlines
    across = [x for x, _y in outline]
    down = [y for _x, y in outline]
    page = np.asarray(next(pages.rendered(pdf, 600)))
    scale = 600 / 72
    high = page.shape[0]
    box = page[
        high - round(max(down) * scale) - 3 : high - round(min(down) * scale) + 3,
        round(min(across) * scale) - 3 : round(max(across) * scale) + 3,
    ]
    inked = np.flatnonzero((box < 128).any(axis=1))
    # The line is drawn around the edge: half of it lies outside on either side.
    tall_in = (inked[-1] - inked[0] + 1) / 600 - pages.OUTLINE_POINTS / 72
    head = callouts.parse(callout).head
    least = long_in if head == "flush" else long_in + 0.03
    most = long_in if head == "flush" else long_in + 0.08
    assert least - 0.004 <= tall_in <= most + 0.004


def test_an_outline_that_does_not_fit_is_left_out_and_never_scaled():
    (one,), _pdf = drawn_on(SHEETS["single"], [content("AN3-20A")], 300)
    assert one.outlines == []


@pytest.mark.parametrize(
    "make",
    [
        lambda: roll(62, 70, 25),
        lambda: roll(62, 20, 25),
        lambda: roll(62, 58, 5),
        lambda: own_sheet((210, 297), (63, 38), (4, 7), (7, 15), (66, 38)),
        lambda: own_sheet((210, 297), (63, 38), (3, 7), (7, 15), (60, 38)),
        lambda: own_sheet((210, 297), (20, 38), (3, 7), (7, 15), (66, 38)),
    ],
)
def test_sizes_that_cannot_be_are_refused_in_words(make):
    with pytest.raises(Refused) as caught:
        make()
    assert caught.value.code == "labels.size"
    assert len(caught.value.sentence) > 30
