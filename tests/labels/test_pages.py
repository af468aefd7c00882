"""Finished label pages: true to scale, each symbol read back, nothing cut off."""

from collections.abc import Callable
from io import BytesIO, StringIO
from itertools import combinations
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from django.core.management import CommandError, call_command
from PIL import Image

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.rules import described
from inventory.errors import Refused
from inventory.labels.actions import card_sheet_pdf, label_pdf
from inventory.labels.queries import label_of
from inventory.labels.rules import layout, pages
from inventory.labels.rules.addresses import bin_address
from inventory.labels.rules.layout import Content, Drawn, Frame
from inventory.labels.rules.sheets import CARDS, SHEETS, LabelSheet, Rect, roll
from inventory.labels.rules.symbols import INSET_DOTS, Dots
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.queries import Bin
from inventory.people.models import User

URL = "http://shop.local"
FOR_BINS = [key for key, sheet in SHEETS.items() if sheet.takes_bars]
HOSTILE = (
    "<para>&amp;<b>bold</b></para> <img src='file:///etc/passwd'/>",
    "W" * 120,
    "3/32 " * 24,
    "Zażółć Ω Ж 漢字 \u202e\x07\n\t end",
    "a" * 60 + " " + "b" * 59,
    "%s %(x)s {0} \\ ( ) \\) endstream",
)


@pytest.fixture
def bins(owner: User) -> list[Bin]:
    """Four bins of look-alikes."""
    return [
        open_bin(
            item=item_for_callout(text=f"MS20426AD3-{dash}"),
            by=owner,
            number=40 + at,
            spot=f"rack A, drawer {at}",
        )
        for at, dash in enumerate(("3", "3.5", "4", "4.5"))
    ]


def one(content: Content, sheet: LabelSheet, dpi: int = 300) -> Drawn:
    """The first label of a sheet."""
    place = next(iter(sheet.places(1)))
    return layout.label(content, place, Frame.of(place[1], sheet.page[1], Dots(dpi)))


def picture(pdf: bytes, dpi: int = 300) -> Image.Image:
    """The first page as a printer sees it."""
    return next(pages.rendered(pdf, dpi))


@pytest.mark.parametrize("key", FOR_BINS)
def test_the_page_has_exactly_the_sheet_s_size(key: str) -> None:
    """To a hundredth of a millimetre, or it would be scaled to fit."""
    sheet = SHEETS[key]
    pdf = pages.pdf_of([one(Content("3/32 flush", "XB004209"), sheet)], sheet.page)
    size = pypdfium2.PdfDocument(pdf)[0].get_size()
    assert [side / 72 * 25.4 for side in size] == pytest.approx(sheet.page, abs=0.01)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("key", "dpi", "dots"),
    [
        ("single", 203, 3),
        ("single", 300, 4),
        ("single", 600, 9),
        ("a4", 300, 5),
        ("letter", 300, 5),
    ],
)
def test_the_bars_are_as_wide_as_intended(key: str, dpi: int, dots: int) -> None:
    """Measured on the page at 4,800 dots an inch, within 0.02 mm."""
    sheet = SHEETS[key]
    drawn = one(Content("3/32 flush", "XB004209"), sheet, dpi)
    page = pypdfium2.PdfDocument(pages.pdf_of([drawn], sheet.page))[0]
    scale, rect = 4800 / 72, drawn.rect
    points = 72 / 25.4
    foot = sheet.page[1] - rect.top - rect.height
    strip = (
        rect.left * points,
        (foot + 5) * points,
        (sheet.page[0] - rect.left - rect.width) * points,
        (sheet.page[1] - foot - 6) * points,
    )
    seen = page.render(scale=scale, grayscale=True, crop=strip).to_pil().convert("L")
    box = seen.point(lambda value: 255 * (value < 128)).getbbox()
    assert box is not None
    inset = 2 * INSET_DOTS / dpi  # a tenth of a dot on each side, on purpose
    wide = ((box[2] - box[0]) / 4800 + inset) * 25.4
    assert wide == pytest.approx(101 * dots / dpi * 25.4, abs=0.02)


@pytest.mark.parametrize("key", FOR_BINS)
@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_bars_keep_their_quiet_zones(key: str, dpi: int) -> None:
    """Ten modules left and right for the bars; all marks inside the label."""
    sheet = SHEETS[key]
    drawn = one(
        Content("3/32 flush", "XB004209", address=bin_address(URL, "XB004209")),
        sheet,
        dpi,
    )
    frame = Frame.of(drawn.rect, sheet.page[1], Dots(dpi))
    lowest = min(box.y for box in drawn.boxes)
    foot = [box for box in drawn.boxes if box.y == lowest]
    first, last = min(b.x for b in foot), max(b.x + b.width for b in foot)
    module = min(box.width for box in foot)
    assert first - frame.left >= 9.9 * module
    assert frame.left + frame.width - last >= 9.9 * module
    for box in drawn.boxes:
        assert frame.left <= box.x
        assert box.x + box.width <= frame.left + frame.width
        assert frame.bottom <= box.y
        assert box.y + box.height <= frame.top


@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_one_bit_print_reads_too(dpi: int) -> None:
    """A thermal printer knows black and white only: every touched dot is black."""
    sheet = SHEETS["single"]
    address = bin_address(URL, "XB004209")
    drawn = one(Content("3/32 flush", "XB004209", address=address), sheet, dpi)
    grey = picture(pages.pdf_of([drawn], sheet.page), dpi)
    hard = grey.point(lambda value: 255 * (value > 250))
    for found in pages.readings(hard):
        assert found == sorted(["XB004209", address])


@pytest.mark.slow
@pytest.mark.parametrize("key", FOR_BINS)
@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_fits_and_is_only_text(key: str, text: str) -> None:
    """Nothing is cut off, nothing is interpreted, the codes still read."""
    sheet = SHEETS[key]
    drawn = one(
        Content(text, "XB004209", text, text[:80], bin_address(URL, "XB004209")), sheet
    )
    frame = Frame.of(drawn.rect, sheet.page[1], Dots(300))
    squares = min(b.x for b in drawn.boxes if b.y > frame.bottom + frame.height / 2)
    bars_top = max(
        b.y + b.height for b in drawn.boxes if b.y < frame.bottom + frame.height / 4
    )
    for line in drawn.lines:
        assert line.x >= frame.left
        assert line.x + line.width <= squares
        assert line.y - 0.25 * line.size >= bars_top - 0.25 * line.size
        assert line.y + 0.75 * line.size <= frame.top
    for a, b in combinations(drawn.lines, 2):
        beside = a.x + a.width <= b.x or b.x + b.width <= a.x
        high, low = (a, b) if a.y > b.y else (b, a)
        assert beside or high.y - 0.22 * high.size >= low.y + 0.72 * low.size, (a, b)
    pdf = pages.pdf_of([drawn], sheet.page)
    pages.check(pdf, [drawn], 300)
    printed = pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_range()
    if text.startswith("<para>"):
        assert "<para>&amp;<b>bold" in "".join(printed.split())


def test_words_break_after_the_comma() -> None:
    """'3/32 flush,' above '7/32 long', where two lines are needed anyway."""
    sheet = SHEETS["a4"]
    drawn = one(
        Content(
            "3/32 flush, 9/32 long", "XB004209", address=bin_address(URL, "XB004209")
        ),
        sheet,
    )
    assert [line.text for line in drawn.lines[:2]] == ["3/32 flush,", "9/32 long"]
    assert drawn.lines[0].size > 12


def test_labels_say_words_callout_spot_and_code(bins: list[Bin]) -> None:
    """All four as text on the page, the code as a person reads it."""
    pdf = label_pdf(bins=bins[1:2], sheet="single", shop_url=URL)
    text = pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_range()
    said = " ".join(text.split())
    for words in ("3/32 flush, 7/32 long", "MS20426AD3-3.5", "rack A, drawer 1"):
        assert words in said
    assert "XB 0041-12" in said
    assert bins[1].code == "XB004112"


@pytest.mark.parametrize(
    ("form", "colour"),
    [("standard", ", copper"), ("short", ", copper"), ("edge clamp", "")],
)
def test_a_temporary_fastener_s_label_says_its_colour(
    owner: User, form: str, colour: str
) -> None:
    """Big, with how it is known; what grips an edge has none."""
    item = item_described(what=described("temporary_fastener", size="1/8", form=form))
    bin = open_bin(item=item, by=owner, number=60)
    said = label_of(bin, URL)
    assert said.words == item.words + colour
    assert said.callout == ("copper: published" if colour else "")


@pytest.mark.slow
def test_skipping_and_shifting(bins: list[Bin]) -> None:
    """The used-up first labels stay white; the offset moves everything."""
    full = picture(label_pdf(bins=bins[:1], sheet="a4", shop_url=URL))
    later = picture(label_pdf(bins=bins[:1], sheet="a4", shop_url=URL, skip=4))
    moved = picture(
        label_pdf(bins=bins[:1], sheet="a4", shop_url=URL, offset_mm=(1.27, -2.54))
    )
    boxes = [page.point(lambda v: 255 * (v < 128)).getbbox() for page in (full, later)]
    dots = 300 / 25.4
    assert boxes[0] is not None
    assert boxes[1] is not None
    assert boxes[1][0] - boxes[0][0] == pytest.approx(66.0 * dots, abs=2)
    assert boxes[1][1] - boxes[0][1] == pytest.approx(38.1 * dots, abs=2)
    shifted = moved.point(lambda v: 255 * (v < 128)).getbbox()
    assert shifted is not None
    assert shifted[0] - boxes[0][0] == pytest.approx(15, abs=1)
    assert shifted[1] - boxes[0][1] == pytest.approx(-30, abs=1)


def test_a_label_that_cannot_be_read_is_never_offered(
    bins: list[Bin], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Bars of another code, or none, are found before the file leaves."""
    right = layout.bar_modules
    monkeypatch.setattr(layout, "bar_modules", lambda _code: right("XB009999"))
    with pytest.raises(Refused) as refused:
        label_pdf(bins=bins, sheet="a4", shop_url=URL)
    assert refused.value.code == "labels.unreadable"
    assert refused.value.data["codes"] == [bin.code for bin in bins]
    monkeypatch.setattr(layout, "bar_modules", lambda code: "0" + right(code)[2:])
    with pytest.raises(Refused, match="could not be read back"):
        label_pdf(bins=bins[:1], sheet="single", shop_url=URL)


def test_a_code_in_the_neighbour_s_label_is_found() -> None:
    """Reading back looks at each label by itself."""
    sheet = SHEETS["a4"]
    drawn = one(Content("3/32 flush", "XB004209"), sheet)
    astray = Drawn(0, Rect(73.2, 15.15, 63.5, 38.1), "XB004209", "", (), drawn.boxes)
    pdf = pages.pdf_of([drawn], sheet.page)
    pages.check(pdf, [drawn], 300)
    with pytest.raises(Refused, match="could not be read back"):
        pages.check(pdf, [astray], 300)


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"bins": []}, "labels.none"),
        ({"sheet": "foolscap"}, "labels.sheet"),
        ({"skip": 21}, "labels.skip"),
        ({"skip": -1}, "labels.skip"),
        ({"offset_mm": (21.0, 0.0)}, "labels.offset"),
        ({"offset_mm": (float("nan"), 0.0)}, "labels.offset"),
        ({"dpi": 301}, "labels.dpi"),
        ({"sheet": "tags"}, "labels.size"),
        ({"sheet": roll(62, 58), "skip": 1}, "labels.skip"),
        ({"sheet": roll(62, 58), "offset_mm": (0.0, 30.0)}, "labels.offset"),
        ({"sheet": "single", "shop_url": "http://" + "x" * 900}, "labels.url"),
    ],
)
def test_refusals(bins: list[Bin], changes: dict[str, Any], code: str) -> None:
    """Each with a sentence that says what to do."""
    asked: dict[str, Any] = {"bins": bins, "sheet": "a4", "shop_url": URL}
    with pytest.raises(Refused) as refused:
        label_pdf(**{**asked, **changes})
    assert refused.value.code == code


@pytest.mark.slow
def test_the_same_labels_are_the_same_bytes(bins: list[Bin]) -> None:
    """So that a file can be compared."""
    first = label_pdf(bins=bins, sheet="letter", shop_url=URL)
    assert first == label_pdf(bins=bins, sheet="letter", shop_url=URL)


@pytest.mark.slow
def test_cards_lie_twenty_millimetres_apart() -> None:
    """From every code's bars to the next, along and across."""
    cards = [(1, "pull", "take from a bin"), (2, "return", "put back into a bin")]
    pdf = card_sheet_pdf(cards=cards, quantities=[0, 9, 100, 25])
    rects = [rect for _page, rect in CARDS.places(5)]
    first, second = pages.rendered(pdf, 300)
    assert next(pages.readings(first)) == ["XC000108", "XC000205"]
    assert {"XN000005", "XN000975"} <= set(next(pages.readings(second)))
    dark = second.point(lambda v: 255 * (v < 128))
    dots = 300 / 25.4
    for one_, other in ((0, 1), (0, 3)):
        a, b = (_bars(dark, rects[n], dots) for n in (one_, other))
        gap = max(b[0] - a[2], b[1] - a[3]) / dots
        assert gap >= 20


def _bars(dark: Image.Image, rect: Rect, dots: float) -> tuple[float, ...]:
    """The bars' box: the lower part of a card, above the code in the clear."""
    top = rect.top + rect.height - 1.2 - 3 - 10
    cut = (rect.left * dots, top * dots, (rect.left + 58) * dots, (top + 9) * dots)
    box = dark.crop(tuple(round(side) for side in cut)).getbbox()  # type: ignore[arg-type]
    assert box is not None
    return (cut[0] + box[0], cut[1] + box[1], cut[0] + box[2], cut[1] + box[3])


@pytest.mark.slow
def test_the_command_writes_what_it_says(bins: list[Bin], tmp_path: Path) -> None:
    """Ranges pass over gaps; a single number must exist."""
    target, out = tmp_path / "labels.pdf", StringIO()
    call_command(
        "print_labels",
        bins="1-41,43",
        sheet="single",
        output=str(target),
        stdout=out,
    )
    assert len(pypdfium2.PdfDocument(BytesIO(target.read_bytes()).read())) == 3
    assert "3 labels" in out.getvalue()
    call_command("print_labels", bins="40", roll="62,58", output=str(target))
    width, _length = pypdfium2.PdfDocument(target.read_bytes())[0].get_size()
    assert width == pytest.approx(62 / 25.4 * 72, abs=0.01)
    for wrong, says in (
        ({"bits": "4"}, "no bit 4"),
        ({"bits": "x"}, "names no bit"),
        ({"roll": "wide"}, "no roll"),
        ({"roll": "20,20"}, "printable width"),
        ({"bins": "7"}, "no bin 7"),
        ({"bins": "x"}, "names no bins"),
        ({"offset": "wide"}, "no offset"),
        ({"sheet": "round"}, "no sheet"),
        ({"output": str(tmp_path)}, "cannot be written"),
    ):
        options = {"output": str(target), **wrong}
        with pytest.raises(CommandError, match=says):
            call_command("print_labels", **options)


@pytest.mark.unmeasured
@pytest.mark.slow
@pytest.mark.parametrize("key", FOR_BINS)
def test_codes_all_over_the_range_read_back(owner: User, key: str) -> None:
    """A spread over all bin numbers; the check inside refuses a single failure."""
    item = item_for_callout(text="MS20470AD4-5")
    some = [
        open_bin(item=item, by=owner, number=number) for number in range(3, 10_000, 60)
    ]
    pdf = label_pdf(bins=some, sheet=key, shop_url=URL)
    assert len(pypdfium2.PdfDocument(pdf)) == -(-len(some) // SHEETS[key].per_page)


def test_without_the_second_reader_the_first_still_checks(
    bins: list[Bin], monkeypatch: pytest.MonkeyPatch
) -> None:
    """No system library: labels are printed and read back all the same."""
    monkeypatch.setattr(pages, "pyzbar", None)
    counted: list[int] = []
    plain: Callable[..., Any] = pages.zxingcpp.read_barcodes

    def read(*args: Any, **kwargs: Any) -> Any:
        counted.append(1)
        return plain(*args, **kwargs)

    monkeypatch.setattr(pages.zxingcpp, "read_barcodes", read)
    label_pdf(bins=bins, sheet="letter", shop_url=URL)
    assert len(counted) == len(bins)
