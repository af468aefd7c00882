"""Outlines: true to the standards' dimensions, to the scale, and inside their box."""

import math
import re
from dataclasses import replace
from fractions import Fraction

import pytest

from inventory.errors import Refused
from inventory.trade.callouts import parse
from inventory.trade.drawing import DOTS, painted
from inventory.trade.drills import drill
from inventory.trade.outlines import drill_outline, outline_of, pair_drawing
from inventory.trade.stacks import Sheet, stack_drawing
from tests.trade.checks import cases, rows

HEADS = rows("rivet_heads")
UNIVERSAL = [row for row in HEADS if "universal" in row["standard"]]
FLUSH = [row for row in HEADS if "flush" in row["standard"]]
NEAR = 1e-6


def part(drawing, kind="part"):
    return next(each for each in drawing.shapes if each.kind == kind)


def top(shape):
    return min(y for _, y in shape.points)


@pytest.mark.parametrize("row", cases(UNIVERSAL, "standard", "dia_32nds"))
def test_a_universal_head_and_the_length_under_it(row):
    rivet = part(outline_of(parse(f"MS20470AD{row['dia_32nds']}-6")))
    assert rivet.across == pytest.approx(float(row["head_dia_in"]), abs=NEAR)
    under = rivet.tall - float(row["head_height_in"])
    assert under == pytest.approx(6 / 16, abs=NEAR)


@pytest.mark.parametrize("row", cases(FLUSH, "standard", "dia_32nds"))
def test_a_flush_cone_and_the_length_over_all(row):
    rivet = part(outline_of(parse(f"MS20426AD{row['dia_32nds']}-6")))
    assert rivet.tall == pytest.approx(6 / 16, abs=NEAR)
    across, shank = float(row["head_dia_in"]), float(row["shank_in"])
    assert rivet.across == pytest.approx(across, abs=NEAR)
    edge, cone = sorted({round(y, 9) for _, y in rivet.points})[:2]
    height = cone - edge
    # The table's computed height, and the standard's own from memory.
    assert height == pytest.approx(float(row["geometry_h_in"]), abs=0.001)
    assert height == pytest.approx(float(row["head_height_in"]), abs=0.001)
    angle = 2 * math.degrees(math.atan((across - shank) / 2 / height))
    assert angle == pytest.approx(100, abs=0.001)


def test_a_head_is_twice_its_shank_and_says_when_that_is_a_guess():
    # MS20470: the head is 2D across, from memory.
    known, guess = outline_of(parse("MS20470AD4-4")), outline_of(parse("MS20470AD7-4"))
    for drawing, shank in ((known, 4 / 32), (guess, 7 / 32)):
        assert part(drawing).across == pytest.approx(2 * shank, abs=NEAR)
    assert "from memory" in known.words
    assert "guess" in guess.words


@pytest.mark.parametrize("callout", ["AN425AD4-4", "NAS1097AD4-4", "AN365-1032A"])
def test_what_is_not_known_is_not_drawn(callout):
    assert outline_of(parse(callout)) is None


@pytest.mark.parametrize(
    "callout", ["AN470AD4-4", "MS20600 series, no. 42", "AN3-5", "AN960-10L"]
)
def test_without_a_diameter_nothing_is_drawn(callout):
    whole = parse(callout)
    assert outline_of(whole) is not None
    assert outline_of(replace(whole, diameter_in=None)) is None


def test_a_flush_head_that_is_not_known_is_not_made_up():
    hidden = replace(parse("MS20600 series, no. 42"), head="reduced flush")
    assert outline_of(hidden) is None
    reduced = parse("NAS1097AD4-4")
    assert pair_drawing(reduced, reduced) is None
    assert stack_drawing("reduced flush", EIGHTH, EIGHTH, PLAIN, HOLE) is None


def test_a_length_half_a_step_off_shows_at_one_scale():
    short, long = parse("AN470AD4-4"), parse("AN470AD4-4.5")
    one, other = [
        each for each in pair_drawing(short, long).shapes if each.kind == "part"
    ]
    assert other.tall - one.tall == pytest.approx(1 / 32, abs=NEAR)
    assert one.across == pytest.approx(other.across, abs=NEAR)
    assert top(one) == pytest.approx(top(other), abs=NEAR)
    apart = min(x for x, _ in other.points) - max(x for x, _ in one.points)
    assert apart > 0
    assert pair_drawing(short, parse("AN4-5")) is None


def test_a_bolt_has_its_length_and_its_threads():
    # AN3-5: 3/16 shank, 21/32 under the head, grip 1/4 (AN3-AN20 bolt sheet,
    # restated), 10-32 thread: 13 turns in 13/32.
    bolt = outline_of(parse("AN3-5"))
    shank, head = [each for each in bolt.shapes if each.kind == "part"]
    assert shank.across == pytest.approx(21 / 32, abs=NEAR)
    assert shank.tall == pytest.approx(3 / 16, abs=NEAR)
    crests = {round(x, 5) for x, y in shank.points if abs(y - top(shank)) < NEAR}
    assert len(crests) == 2 + 13
    # 3/8 across the flats, so 0.433 over the corners (trade knowledge, from memory).
    assert head.tall == pytest.approx(0.433, abs=0.001)
    assert "not known" in outline_of(parse("AN10-20")).words


def test_a_blind_rivet_has_the_published_length():
    # TM 10-5410-221-14/1 table 4-3: no. 42 is .232 long, for .063 to .125.
    rivet = outline_of(parse("MS20600 series, no. 42"))
    under = part(rivet).across - 0.43 * 4 / 32
    assert under == pytest.approx(0.232, abs=NEAR)


def test_a_washer_is_as_thick_as_its_standard_says():
    washer = outline_of(parse("AN960-10L"))
    assert part(washer, "hole").across == pytest.approx(3 / 16, abs=NEAR)
    assert washer.shapes[-1].tall == pytest.approx(0.032, abs=NEAR)


@pytest.mark.parametrize("degrees", [118, 135])
def test_a_drill_has_its_diameter_and_its_point(degrees):
    # ANSI/ASME B94.11M, restated: number 40 is .0980.
    tool = part(drill_outline(drill("#40").diameter_in, degrees), "tool")
    assert tool.tall == pytest.approx(0.098, abs=NEAR)
    long, shoulder = sorted({round(x, 9) for x, _ in tool.points})[-1:-3:-1]
    half = math.degrees(math.atan(0.049 / (long - shoulder)))
    assert 2 * half == pytest.approx(degrees, abs=0.001)


PLAIN = (Sheet(Fraction("0.032")), Sheet(Fraction("0.040")))
EIGHTH, HOLE = Fraction(1, 8), Fraction("0.1285")


def test_a_stack_has_its_sheets_its_hole_and_its_driven_head():
    # FAA-H-8083-31: the driven head is 1.5D across and 0.5D high, restated.
    shop = (EIGHTH * 3 / 2, EIGHTH / 2)
    found = stack_drawing("universal", EIGHTH, Fraction(1, 4), PLAIN, HOLE, shop)
    head, sheet = part(found, "head"), part(found, "sheet")
    assert head.across == pytest.approx(0.1875, abs=NEAR)
    assert head.tall == pytest.approx(0.0625, abs=NEAR)
    assert sheet.tall == pytest.approx(0.032, abs=NEAR)
    assert part(found, "sheet_other").tall == pytest.approx(0.040, abs=NEAR)
    right, left = [each for each in found.shapes if each.kind == "sheet"]
    gap = min(x for x, _ in right.points) - max(x for x, _ in left.points)
    assert gap == pytest.approx(0.1285, abs=NEAR)
    assert top(head) == pytest.approx(top(sheet) + 0.072, abs=NEAR)


def test_an_undriven_rivet_sticks_out_by_what_its_length_leaves():
    found = stack_drawing("universal", EIGHTH, Fraction(1, 4), PLAIN, HOLE)
    lowest = max(y for _, y in part(found).points)
    sheets = max(y for _, y in part(found, "sheet_other").points)
    assert lowest - sheets == pytest.approx(0.25 - 0.072, abs=NEAR)


def flush(*preparations):
    sheets = [Sheet(Fraction("0.040"), each) for each in preparations]
    return stack_drawing("flush", EIGHTH, Fraction(1, 4), sheets, HOLE)


def test_a_flush_head_lies_flush_in_a_countersink_or_a_dimple_only():
    for preparations in (("countersink", "plain"), ("dimple", "dimple")):
        found = flush(*preparations)
        assert top(part(found)) == pytest.approx(top(part(found, "sheet")), abs=NEAR)
    proud = flush("plain", "plain")
    out = top(part(proud, "sheet")) - top(part(proud))
    # The cone is .225 across at its top (MS20426, from memory), the hole .1285.
    assert out == pytest.approx((0.225 - 0.1285) / 2 / math.tan(math.radians(50)))


def test_a_dimple_keeps_the_thickness_and_nests():
    upper, lower = part(flush("dimple", "dimple")), flush("dimple", "countersink")
    assert upper.tall == pytest.approx(0.25, abs=NEAR)
    one, other = part(lower, "sheet"), part(lower, "sheet_other")
    # Faces that touch have their corner at the same place.
    assert set(rounded(one)) & set(rounded(other))
    slope = math.cos(math.radians(40))
    at_hole = sorted(y for x, y in one.points if abs(x - min(xs(one))) < NEAR)
    assert (at_hole[1] - at_hole[0]) * slope == pytest.approx(0.040, abs=NEAR)


def xs(shape):
    return [x for x, _ in shape.points]


def rounded(shape):
    return [(round(x, 6), round(y, 6)) for x, y in shape.points]


@pytest.mark.parametrize(
    ("preparations", "said"),
    [(("dimple", "plain"), "under a dimple"), ((), "one sheet"), (("bent",), "bent")],
)
def test_a_stack_that_cannot_lie_is_refused(preparations, said):
    with pytest.raises(Refused, match=said) as caught:
        flush(*preparations)
    assert caught.value.data["expected"]


ALL = [
    outline_of(parse("MS20470AD4-6")),
    outline_of(parse("MS20426AD3-3.5")),
    outline_of(parse("MS20430AD4-6")),
    outline_of(parse("MS20442AD4-6")),
    outline_of(parse("MS20600 series, no. 42")),
    outline_of(parse("AN4-14A")),
    outline_of(parse("AN960-416")),
    drill_outline(Fraction(1, 2)),
    drill_outline(drill("#80").diameter_in),
    pair_drawing(parse("AN470AD4-4"), parse("AN426AD3-3.5")),
    flush("dimple", "countersink"),
    flush("countersink"),
]


@pytest.mark.parametrize("drawing", ALL, ids=lambda each: each.words[:40])
def test_nothing_is_outside_the_box_and_the_scale_is_the_one_said(drawing):
    for x, y in (point for each in drawing.shapes for point in each.points):
        assert -NEAR <= x <= drawing.width_in + NEAR
        assert -NEAR <= y <= drawing.height_in + NEAR
    found = painted(drawing)
    left, up, across, down = map(int, found.box.split())
    assert (left, up) == (-found.edge, -found.edge)
    for each in found.outlines:
        for point in each.points.split():
            x, y = map(float, point.split(","))
            assert left < x < left + across
            assert up < y < up + down
    # A thousandth is painted as many dots as the magnification says.
    assert found.width_dots / across == pytest.approx(
        float(found.times) * DOTS / 1000, rel=0.01
    )
    assert found.width_dots <= 310
    # The bar lies in the box too, and is as long as it says.
    start, high, long = re.match(r"M0 (\d+)v(\d+)m0 -\d+h(\d+)", found.bar).groups()
    assert int(long) == int(found.bar_in * 1000)
    assert up < int(start) + int(high) < up + down
    assert f"{found.bar_in} in" == found.bar_words
    assert found.height_dots / down == pytest.approx(
        found.width_dots / across, rel=0.03
    )


def test_a_magnification_has_a_name():
    tall = painted(drill_outline(Fraction(1, 2)), width=400)
    assert tall.scale_words == "about true size"
    assert painted(outline_of(parse("AN8-57A"))).scale_words.endswith("of its size")
    assert painted(outline_of(parse("AN470AD4-4"))).scale_words == "about 7 times size"
