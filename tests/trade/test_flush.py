"""Countersink or dimple: least sheets by source, the stack, the tools, the depth."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade import flush
from inventory.trade.flush import COUNTERSINK, DIMPLE, PLAIN, least_sheet, prepare
from inventory.trade.questions.index import QUESTIONS
from tests.trade.checks import cases, rows

SHEETS = rows("countersink_min_sheet")
BY_RIVET = [
    row for row in SHEETS if row["source"].startswith("TM") and "/" in row["rivet"]
]
LEAST = [row for row in BY_RIVET if "blind" not in row["rivet"]]
BLIND = [row for row in BY_RIVET if "blind" in row["rivet"]]
FIGHTER = [row for row in SHEETS if row["rivet"].startswith("any")]
# What a rule says in prose; its effect is tested below.
PROSE = {"3/32 in .032", "general"}


def test_no_row_is_left_out_by_accident():
    taken = {row["rivet"] for row in LEAST + BLIND + FIGHTER}
    assert {row["rivet"] for row in SHEETS} == taken | PROSE


@pytest.mark.parametrize("row", cases(LEAST, "rivet", "min_sheet_in"))
def test_least_sheet_of_the_manuals(row):
    found = least_sheet(Fraction(row["rivet"]))
    assert found.sheet_in == Fraction(row["min_sheet_in"])
    assert int(row["angle"]) == flush.ANGLE_DEG


@pytest.mark.parametrize("row", cases(FIGHTER, "rivet", "min_sheet_in"))
def test_least_sheet_of_the_1940s_manual(row):
    found = least_sheet(Fraction(5, 32), source="fighter")
    assert found.sheet_in == Fraction(row["min_sheet_in"])


@pytest.mark.parametrize("row", cases(BLIND, "rivet", "min_sheet_in"))
def test_countersink_width_for_a_blind_rivet(row):
    size = row["rivet"].split()[0]
    span = flush.countersink_across(f"{size} blind rivet")
    assert (
        "-".join(f"{float(each):.3f}".lstrip("0") for each in span)
        == (row["min_sheet_in"])
    )


@pytest.mark.parametrize(
    "row", cases([r for r in SHEETS if r["rivet"] == "3/32 in .032"], "rivet")
)
def test_a_thin_sheet_is_not_countersunk(row):
    assert row["min_sheet_in"] == "not recommended"
    assert prepare([Fraction("0.032")], Fraction(3, 32)) == (DIMPLE,)
    assert flush.recess(Fraction(3, 32)).depth_in > Fraction("0.032")


FIRST = [row for row in rows("first_checks") if row["topic"] == "min flush sheet"]


@pytest.mark.parametrize("row", cases(FIRST, "id", "input"))
def test_first_check_of_the_least_sheet(row):
    for size, sheet in zip(
        row["input"].split(";"), row["expected"].split(";"), strict=True
    ):
        assert least_sheet(Fraction(size)).sheet_in == Fraction(sheet)


HABIT = [row for row in rows("common_practice") if "0.040" in row["fact"]]


@pytest.mark.parametrize("row", cases(HABIT, "fact"))
def test_the_shops_habit(row):
    step = Fraction(1, 1000) if "over" in row["fact"] else Fraction(-1, 1000)
    done = prepare([Fraction("0.040") + step], Fraction(1, 8), source="practice")
    assert row["value"].endswith(done[0])


# The depth of a cone from its widths: geometry_h_in of the check file is computed so.
HEADS = [row for row in rows("rivet_heads") if row["geometry_h_in"]]


@pytest.mark.parametrize("row", cases(HEADS, "standard", "dia_32nds"))
def test_depth_follows_from_the_angle(row):
    recess = flush.recess(Fraction(int(row["dia_32nds"]), 32))
    assert recess.across_in == Fraction(row["head_dia_in"])
    assert abs(recess.depth_in - Fraction(row["geometry_h_in"])) <= Fraction(1, 10**4)
    assert recess.certainty == "from memory"


THICKNESS = st.sampled_from(
    [Fraction(text) for text in (".016", ".025", ".032", ".040", ".063", ".125")]
)


@given(st.lists(THICKNESS, min_size=1, max_size=5), st.sampled_from(flush.SOURCES))
def test_a_stack_is_dimpled_down_to_a_countersink_and_plain_below(sheets, source):
    done = prepare(sheets, Fraction(1, 8), source)
    words = " ".join(done)
    depth = done.count(DIMPLE)
    assert done[:depth] == (DIMPLE,) * depth
    assert done[depth : depth + 1] in ((), (COUNTERSINK,))
    assert words.endswith(" ".join([PLAIN] * (len(sheets) - depth - 1)))
    assert len(done) == len(sheets)


SHOP = next(row for row in rows("common_practice") if "die sizes" in row["fact"])


def test_dies_a_shop_keeps():
    kept = {"3/32 rivet", "1/8 rivet", "#6 screw", "#8 screw"}
    assert {flush.tools(each).dies for each in kept} == set(SHOP["value"].split(", "))


def test_the_unknown_is_refused_with_what_is_known():
    with pytest.raises(Refused, match="practice, fighter"):
        least_sheet(Fraction(1, 16))
    with pytest.raises(Refused, match="3/32 rivet"):
        flush.tools("1/2 rivet")
    with pytest.raises(Refused, match="not known here"):
        flush.recess(Fraction(7, 32))
    with pytest.raises(Refused, match="1/8 blind rivet"):
        flush.countersink_across("1/2 blind rivet")


def ask(diameter, sheets):
    (question,) = [each for each in QUESTIONS if each.name == "countersink"]
    return question.answer({"diameter": diameter, "sheets": sheets})


def test_a_countersink_under_a_dimple_is_the_dimples_nest():
    """A sheet bent to 100 degrees keeps its thickness: its lower face stands so much
    further out as the thickness times tan(20 degrees) on each side. Geometry."""
    plain, under = ask("1/8", ".063,.032").data, ask("1/8", ".020,.063").data
    assert under["preparation"] == ("dimple", "countersink")
    wider = 2 * 0.020 * math.tan(math.radians(20))
    assert float(under["across_in"] - plain["across_in"]) == pytest.approx(
        wider, abs=1e-6
    )
    deeper = wider / 2 / math.tan(math.radians(50))
    assert float(under["depth_in"] - plain["depth_in"]) == pytest.approx(
        deeper, abs=1e-6
    )
    twice = ask("1/8", ".020,.025,.063").data
    both = 2 * 0.045 * math.tan(math.radians(20))
    assert float(twice["across_in"] - plain["across_in"]) == pytest.approx(
        both, abs=1e-6
    )


@pytest.mark.parametrize(
    ("sheets", "is_knife_edge"), [(".051,.032", False), (".040,.051", True)]
)
def test_the_knife_edge_is_judged_on_what_is_cut(sheets, is_knife_edge):
    found = ask("1/8", sheets)
    said = " ".join(each.sentence for each in found.warnings)
    assert "countersink" in found.data["preparation"]
    assert ("knife edge" in said) == is_knife_edge


def test_only_the_tools_that_the_sheets_need_are_named():
    def names(sheets):
        found = {each.name for each in ask("1/8", sheets).figures}
        return found & {"cutter", "dies", "countersink", "the head"}

    assert names(".063,.032") == {"cutter", "countersink"}
    assert names(".032,.032") == {"dies", "the head"}
    assert names(".032,.063") == {"cutter", "dies", "countersink"}
