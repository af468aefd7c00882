"""Own sheets and rolls, true size, tags, badges: measured on the rendered page."""

import numpy as np
import pypdfium2
import pytest

from inventory.errors import Refused
from inventory.labels.rules import layout, pages
from inventory.labels.rules.addresses import bin_address
from inventory.labels.rules.layout import Content, Frame
from inventory.labels.rules.saying import colour_words, look_alike_mark
from inventory.labels.rules.sheets import SHEETS, own_sheet, roll
from inventory.labels.rules.symbols import DPI, Dots, square_modules
from inventory.labels.rules.text import BOLD, fitted
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
    address = bin_address("http://shop.local", code)
    return Content(
        words=reading.words,
        code=code,
        callout=callout,
        spot="rack A",
        address=address,
        drawing=outline_of(reading),
        mark=look_alike_mark(reading),
    )


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


@pytest.mark.parametrize("number", [873, 2726, 6331])
def test_labels_that_a_reader_sees_double_when_small_are_offered(number):
    """Measured over all 10,000 bins at 300 dots an inch."""
    drawn_on(SHEETS["single"], [content("MS20470AD4-4", number)], 300)


def inked(page, box_points, dpi):
    """The dark dots of a part of a page: left, low, right, high in points."""
    scale, high = dpi / 72, page.shape[0]
    left, low, right, top = (round(side * scale) for side in box_points)
    return page[high - top - 3 : high - low + 3, left - 3 : right + 3] < 128


# Sixteenths and thirty-seconds as the standards' dashes count them: published.
@pytest.mark.slow
@pytest.mark.parametrize(
    ("callout", "long_in", "across_in"),
    [
        ("MS20470AD4-4", 4 / 16, 4 / 32),
        ("MS20470AD4-4.5", 4.5 / 16, 4 / 32),
        ("MS20426AD3-3.5", 3.5 / 16, 3 / 32),
        ("MS20426AD3-4", 4 / 16, 3 / 32),
    ],
)
def test_the_outline_is_true_to_size(callout, long_in, across_in):
    """Measured at 600 dpi within 0.1 mm; a flush rivet's length is over all."""
    (one,), pdf = drawn_on(SHEETS["a4"], [content(callout)], 600)
    (outline,) = one.outlines
    xs, ys = [x for x, _y in outline], [y for _x, y in outline]
    page = np.asarray(next(pages.rendered(pdf, 600)))
    box = inked(page, (min(xs), min(ys), max(xs), max(ys)), 600)
    # The line is drawn around the edge: half of it lies outside on either side.
    line_in = pages.OUTLINE_POINTS / 72
    foot = np.flatnonzero(box[-8])
    across = (foot[-1] - foot[0] + 1) / 600 - line_in
    down = np.flatnonzero(box.any(axis=1))
    if callouts.parse(callout).head != "flush":
        down = np.flatnonzero(box[:, foot[0] + 1])  # under the head, along the shank
        down = down[down > down[-1] - round((long_in + 0.02) * 600)]
    tall = (down[-1] - down[0] + 1) / 600 - line_in
    assert tall * 25.4 == pytest.approx(long_in * 25.4, abs=0.1)
    assert across * 25.4 == pytest.approx(across_in * 25.4, abs=0.1)
    assert layout.CAPTION in [line.text for line in one.lines]


def test_an_outline_that_does_not_fit_is_left_out_and_never_scaled():
    (one,), _pdf = drawn_on(SHEETS["single"], [content("AN3-20A")], 300)
    assert one.outlines == ()
    assert layout.CAPTION not in [line.text for line in one.lines]


@pytest.mark.slow
@pytest.mark.parametrize("dpi", DPI)
def test_a_roll_is_cut_where_the_words_end(dpi):
    """Words at their full size, the outline on it, a page as long as its label."""
    some = [content("MS20426AD3-3.5"), content("AN3-20A", 8)]
    paper = roll(62, 58)
    drawn = [
        layout.cut_to_fit(each, paper, at, Dots(dpi)) for at, each in enumerate(some)
    ]
    pdf = pages.pdf_of(drawn, paper.page)
    pages.check(pdf, drawn, dpi)
    sizes = [page.get_size() for page in pypdfium2.PdfDocument(pdf)]
    for one, size in zip(drawn, sizes, strict=True):
        assert [side / 72 * 25.4 for side in size] == pytest.approx(
            [62, one.rect.height], abs=0.01
        )
        assert one.lines[0].size >= layout.LARGE
        assert one.outlines
    rivet, bolt = (one.rect.height for one in drawn)
    assert 25 <= rivet < 35
    # A bolt 2 1/32 in long under its head stands on its label.
    assert bolt > (2 + 1 / 32) * 25.4


@pytest.mark.parametrize("dpi", DPI)
def test_a_tag_carries_the_bare_code_in_the_smallest_square(dpi):
    """21 modules a side is version 1; the least tag there may be still reads."""
    codes_ = [codes.make("T", number) for number in (1, 134, 9999)]
    assert {len(square_modules(code)) for code in codes_} == {21}
    for paper in (
        SHEETS["tags"],
        own_sheet((60, 40), (24, 9), (2, 3), (1, 1), (30, 12)),
    ):
        assert not paper.takes_bars
        places = paper.places(3)
        drawn = [
            layout.tag(
                Content("Bit 134, #40 drill, 12 in", code),
                place,
                Frame.of(place[1], paper.page[1], Dots(dpi)),
            )
            for code, place in zip(codes_, places, strict=True)
        ]
        pages.check(pages.pdf_of(drawn, paper.page), drawn, dpi)


def test_look_alikes_are_told_apart_by_words_alone():
    """Length, alloy and dash, each as text."""
    said = {}
    for callout in ("MS20426AD3-3.5", "MS20426AD3-4", "MS20426A3-4"):
        (one,), _pdf = drawn_on(SHEETS["letter"], [content(callout)], 300)
        said[callout] = [line.text for line in one.lines]
    assert said["MS20426AD3-3.5"][0] == "3/32 flush, 7/32 long"
    assert said["MS20426AD3-3.5"][-2:] == ["AD", "-3.5"]
    assert said["MS20426AD3-4"][0] == "3/32 flush, 1/4 long"
    assert said["MS20426AD3-4"][-2:] == ["AD", "-4"]
    assert "soft" in " ".join(said["MS20426A3-4"])
    assert said["MS20426A3-4"][-2:] == ["A", "-4"]


def test_where_the_dash_does_not_fit_the_callout_is_bold():
    (one,), _pdf = drawn_on(SHEETS["single"], [content("MS20426AD3-3.5")], 203)
    assert "-3.5" not in [line.text for line in one.lines]
    fonts = {line.text: line.font for line in one.lines}
    assert fonts["MS20426AD3-3.5"] == BOLD


# US Navy course NAVEDTRA 14018 p. 13-4 for the colours: published.
@pytest.mark.parametrize(
    ("size", "words"),
    [
        ("1/8", "copper: published"),
        ("5/32", "black: published; 1/16 is black too"),
        ("7/16", ""),
    ],
)
def test_a_temporary_fastener_s_colour_says_how_it_is_known(size, words):
    assert colour_words(size) == words


@pytest.mark.parametrize("text", ["99J", "999999", "Q99J"])
def test_bars_that_lose_a_leading_99_are_never_offered(text):
    """An encoder is known to drop the pair: then the label is refused, else it reads."""
    paper = SHEETS["single"]
    place = next(paper.places(1))
    frame = Frame.of(place[1], paper.page[1], Dots(300))
    drawn = [layout.label(Content("supplier's code", text), place, frame)]
    pdf = pages.pdf_of(drawn, paper.page)
    printed = next(pages.readings(next(pages.rendered(pdf, 300))))
    if printed == [text]:
        pages.check(pdf, drawn, 300)
        return
    assert text.startswith("99")
    with pytest.raises(Refused, match="could not be read back"):
        pages.check(pdf, drawn, 300)


# Common sheets by their dimensions, common practice, no source: (label, grid, left and
# top margin, pitch) in millimetres.
@pytest.mark.parametrize(
    ("key", "page", "label", "grid", "margin", "pitch"),
    [
        ("a4", (210, 297), (63.5, 38.1), (3, 7), (7.2, 15.15), (66, 38.1)),
        (
            *("letter", (215.9, 279.4), (66.675, 25.4), (3, 10)),
            *((4.7625, 12.7), (69.85, 25.4)),
        ),
    ],
)
def test_sheets_lie_as_their_makers_cut_them(key, page, label, grid, margin, pitch):
    """The last label ends as far from its edge as the first begins, within 0.1 mm."""
    rects = [rect for _page, rect in SHEETS[key].places(grid[0] * grid[1])]
    first, last = rects[0], rects[-1]
    assert SHEETS[key].page == page
    assert (first.left, first.top) == margin
    assert (first.width, first.height) == label
    assert rects[1].left - first.left == pytest.approx(pitch[0])
    assert rects[grid[0]].top - first.top == pytest.approx(pitch[1])
    assert page[0] - last.left - last.width == pytest.approx(margin[0], abs=0.11)
    assert page[1] - last.top - last.height == pytest.approx(margin[1], abs=0.11)


@pytest.mark.parametrize(
    "make",
    [
        lambda: roll(62, 70, 25),
        lambda: roll(62, 20, 25),
        lambda: roll(62, 58, 5),
        lambda: own_sheet((210, 297), (63, 38), (4, 7), (7, 15), (66, 38)),
        lambda: own_sheet((210, 297), (63, 38), (3, 7), (7, 15), (60, 38)),
        lambda: own_sheet((210, 297), (20, 38), (3, 7), (7, 15), (66, 38)),
        lambda: own_sheet((210, 297), (63, 38), (0, 7), (7, 15), (66, 38)),
    ],
)
def test_sizes_that_cannot_be_are_refused_in_words(make):
    with pytest.raises(Refused) as caught:
        make()
    assert caught.value.code == "labels.size"
    assert len(caught.value.sentence) > 30


@pytest.mark.parametrize("across", range(28, 200, 4))
def test_a_number_and_its_unit_stay_on_one_line(across):
    said = "2.4 mm (3/32) flush, 12.7 mm (1/2) long"
    lines = [line.text for line in fitted(said, (0, 100, across, 100), 12)]
    assert " ".join(lines) == said
    assert not [line for line in lines if line.startswith("mm")]
