"""How codes are read from pictures: what is believed, where labels are, how well."""

import io

import cv2
import numpy as np
import pytest
import zxingcpp
from PIL import Image

from inventory.labels.rules.symbols import bar_modules, square_modules
from inventory.management.measures.photos_set import LEVELS, bare, photo
from inventory.photos import bars, engines, squares
from inventory.photos.ladder import decode
from inventory.photos.locating import Edges, crop
from inventory.photos.opening import decode_photo
from inventory.photos.witnesses import BARS, SQUARES, Seen, Sighting, own_code
from inventory.trade import codes

OWN = "XB004209"
CHECKED = "CARTON77123" + codes.mod_37_36_check("CARTON77123")


def reading(
    text: str, witness: str, quality: int = 0, at: float = 0.0, kind: str = BARS
) -> Sighting:
    """A symbol 100 pixels long."""
    return Sighting(text, kind, witness, (at, 0.0), 100.0, quality)


def believed(*readings: Sighting, receiving: bool = False) -> list[tuple[str, str]]:
    """Texts and kinds of what is believed."""
    seen = Seen(receiving)
    seen.note(readings)
    return [(row["text"], row["kind"]) for row in seen.answer()]


def test_a_doubtful_foreign_code_needs_a_second_witness() -> None:
    """Quality 1 once is not enough; quality 2 is, and so is another witness."""
    one = reading("LOT-9", "zbar whole", 1)
    assert believed(one) == []
    assert believed(one, one) == []
    assert believed(reading("LOT-9", "zbar whole", 2)) == [("LOT-9", "foreign")]
    assert believed(one, reading("LOT-9", "zxing whole")) == [("LOT-9", "foreign")]


def test_an_own_code_needs_its_check_and_no_witness() -> None:
    """Misread it is nothing, however often."""
    assert believed(reading(OWN, "zxing whole")) == [(OWN, "own")]
    wrong = [reading("XB004208", f"zxing {step}", 9) for step in "abc"]
    assert believed(*wrong) == []
    address = f"HTTP://OLD.HOST/S/{OWN}"
    squares_ = reading(address, "zxing whole", kind=SQUARES)
    assert believed(squares_) == [(address, "address")]


def test_own_codes_come_first() -> None:
    foreign = reading(CHECKED, "zxing whole")
    assert believed(foreign, reading(OWN, "zxing whole", at=300)) == [
        (OWN, "own"),
        (CHECKED, "foreign, checked"),
    ]


def test_of_two_texts_in_one_place_the_better_sworn_is_believed() -> None:
    """With as many witnesses each, neither is; elsewhere they do not meet."""
    other = "CARTON77124" + codes.mod_37_36_check("CARTON77124")
    right = [reading(CHECKED, "zxing whole"), reading(CHECKED, "zxing straight")]
    wrong = reading(other, "zxing averaged", at=10)
    assert believed(*right, wrong) == [(CHECKED, "foreign, checked")]
    assert believed(right[0], wrong) == []
    apart = reading(other, "zxing averaged", at=40)
    assert len(believed(right[0], apart)) == 2


def test_at_receiving_nothing_is_settled_until_all_is() -> None:
    """A bag has several codes; squares correct errors and need one witness."""
    seen = Seen(receiving=True)
    seen.note([reading("Q50", "zxing whole"), reading("1P77", "zxing whole", at=200)])
    seen.note([reading("Q50", "zxing straight")])
    assert seen.believed() == []
    seen.note([reading("1P77", "zxing resized", at=200)])
    assert len(seen.believed()) == 4
    foreign = reading("https://example.org", "zxing whole", kind=SQUARES)
    assert believed(foreign) == []
    assert believed(foreign, receiving=True) == [("https://example.org", "supplier")]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (OWN, OWN),
        ("xb004209", OWN),
        (f"https://a.example/s/{OWN}?x#y", OWN),
        ("XB 0042-09", ""),
        (f"https://a.example/{OWN}/more", ""),
        ("https://[broken/XB004209", ""),
        ("XB004208", ""),
    ],
)
def test_the_own_code_of_a_text(text: str, code: str) -> None:
    """As a symbol says it: blanks and hyphens are for people."""
    assert own_code(text) == code


def bars_at(turn: float) -> np.ndarray:
    """Bars of an own code, two pixels a module, in the middle of a grey bench."""
    row = np.array([each == "0" for each in bar_modules(OWN)], np.uint8) * 255
    label = np.full((90, len(row) * 2 + 60), 255, np.uint8)
    label[20:70, 30:-30] = np.repeat(row, 2)
    page = Image.new("L", (640, 480), 120)
    turned = Image.fromarray(label).convert("LA").rotate(turn, Image.BICUBIC, True)
    page.paste(turned.getchannel("L"), (180, 90), turned.getchannel("A"))
    return np.array(page)


@pytest.mark.parametrize("turn", [0, 25, 60, 90, 131])
def test_bars_are_found_with_their_turn(turn: int) -> None:
    """To two degrees, modulo half a turn; straightened they are read at any angle."""
    picture = bars_at(turn)
    region = Edges.of(picture).regions(0.45)[0]
    assert region.bars
    assert (region.turn + turn + 2) % 180 <= 4
    straight = crop(picture, region.padded(0.08), 2.0)
    assert [row.text for row in engines.zxing(straight.pixels, "straight")] == [OWN]
    (row,) = map(straight.in_picture, engines.zxing(straight.pixels, "straight"))
    assert (
        np.hypot(row.middle[0] - region.middle[0], row.middle[1] - region.middle[1])
        < 30
    )


def test_bars_under_noise_are_read_from_their_mean() -> None:
    """Where one row says nothing, sixty do."""
    clean = bars_at(0)
    noisy = np.clip(
        clean + np.random.default_rng(1).normal(0, 110, clean.shape), 0, 255
    )
    # 480 high, the bars in rows 110 to 160.
    part = cv2.resize(noisy[112:158, 190:422].astype(np.uint8), None, fx=3, fy=3)
    assert engines.zxing(part, "straight") == []
    found = engines.zxing(bars.redrawn(part), "averaged")
    assert {row.text for row in found} == {OWN}


def test_a_tilted_qr_code_is_fitted_and_redrawn() -> None:
    """Seen from the side, module by module the same as printed."""
    cells = np.array(square_modules(f"HTTP://SHOP.LOCAL/S/{OWN}"))
    side = len(cells)
    page = np.pad(np.where(cells, 30, 220).astype(np.uint8), 4, constant_values=220)
    large = cv2.resize(page, None, fx=4, fy=4, interpolation=cv2.INTER_NEAREST)
    end = len(large)
    corners = np.array([[0, 0], [end, 0], [end, end], [0, end]], np.float32)
    seen = np.array([[20, 10], [118, 22], [112, 128], [8, 110]], np.float32)
    lens = cv2.getPerspectiveTransform(corners, seen)
    picture = cv2.warpPerspective(large, lens, (140, 140), borderValue=120)
    clean = next(squares.redrawn(cv2.GaussianBlur(picture, (0, 0), 1.2)))
    dark = clean[::4, ::4][4 : 4 + side, 4 : 4 + side] == 0
    assert (dark != cells).sum() <= 6
    assert [row.text for row in engines.zxing(clean, "redrawn", pure=True)] == [
        f"HTTP://SHOP.LOCAL/S/{OWN}"
    ]


def test_bars_alone_give_no_finders() -> None:
    assert list(squares.redrawn(bars_at(0)[80:180, 180:430])) == []


@pytest.mark.slow
def test_a_picture_of_the_set_depends_on_seed_and_number_only() -> None:
    """Whatever was made before it."""
    assert photo(7, 3) == photo(7, 3)
    assert photo(7, 3).jpeg != photo(8, 3).jpeg
    assert [photo(7, at).level for at in range(5)] == [1, 2, 3, 4, 5]


@pytest.mark.unmeasured
@pytest.mark.slow
def test_the_seeded_photos_read_well_and_never_wrongly() -> None:
    """Eight of each level; the floors are far under what is measured on more."""
    read = dict.fromkeys(range(1, len(LEVELS) + 1), 0)
    for at in range(40):
        shown = photo(77, at)
        found = {row["text"] for row in decode(shown.jpeg)}
        assert found <= shown.payloads, (at, found, shown.payloads)
        read[shown.level] += bool(found)
    assert [read[1], read[2]] == [8, 8]
    assert read[3] >= 7
    assert read[4] >= 6
    assert sum(read.values()) >= 31


@pytest.mark.unmeasured
@pytest.mark.slow
def test_benches_without_a_label_give_nothing() -> None:
    """Grilles, ribs, rivets, writing: at the bench and at receiving."""
    for at in range(10):
        assert decode(bare(31, at), receiving=at % 2 == 1) == []


RS, GS, EOT = "\x1e", "\x1d", "\x04"
BAG = f"[)>{RS}06{GS}PAN470AD4-5{GS}Q250{RS}{EOT}"
# 9506000134352 is the number GS1 itself uses for examples.
ELEMENTS = "(01)09506000134352(10)AB-12"
SENT = "010950600013435210AB-12"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("format_", "text", "sent", "identifier"),
    [
        ("DataMatrix", BAG, BAG, "]d1"),
        ("DataMatrix", ELEMENTS, SENT, "]d2"),
        ("PDF417", BAG, BAG, "]L2"),
        ("QRCode", "https://example.org/offer", "https://example.org/offer", "]Q1"),
        ("EAN13", "9506000134352", "9506000134352", "]E0"),
        ("Code39", "Q250", "Q250", "]A0"),
        ("Code128", ELEMENTS, SENT, "]C1"),
        ("Code128", "1PAN470AD4-5", "1PAN470AD4-5", "]C0"),
    ],
)
def test_suppliers_symbols_are_read_at_receiving(
    format_: str, text: str, sent: str, identifier: str
) -> None:
    """With every character and their ISO/IEC 15424 identifier; not at the bench."""
    gs1 = {"gs1": True} if text == ELEMENTS else {}
    symbol = zxingcpp.create_barcode(
        text, getattr(zxingcpp.BarcodeFormat, format_), **gs1
    )
    drawn = np.array(zxingcpp.write_barcode_to_image(symbol, scale=3))
    page = np.full((drawn.shape[0] + 200, drawn.shape[1] + 200), 200, np.uint8)
    page[100:-100, 100:-100] = drawn
    out = io.BytesIO()
    Image.fromarray(page).save(out, "JPEG", quality=85)
    rows = decode(out.getvalue(), receiving=True)
    assert [(row["text"], row["kind"], row["identifier"]) for row in rows] == [
        (sent, "supplier", identifier)
    ]
    at_bench = {row["kind"] for row in decode(out.getvalue())}
    assert at_bench == ({"foreign"} if format_ == "Code128" else set())


@pytest.mark.slow
def test_the_door_gives_suppliers_symbols_too() -> None:
    """Through the child, control characters and all."""
    symbol = zxingcpp.create_barcode(BAG, zxingcpp.BarcodeFormat.DataMatrix)
    out = io.BytesIO()
    Image.fromarray(np.array(zxingcpp.write_barcode_to_image(symbol, scale=6))).save(
        out, "PNG"
    )
    (row,) = decode_photo(out.getvalue(), receiving=True)
    assert (row.text, row.kind, row.code) == (BAG, "supplier", "")
    assert (row.identifier, row.symbology) == ("]d1", "Data Matrix")
