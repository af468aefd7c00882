"""Drills: the standard series, the sources that differ, and the classic slips."""

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade import drills, tables
from inventory.trade.cautions import AIRWORTHINESS
from inventory.trade.drills import clearance_drill, compare, drill, hole_for_rivet
from tests.trade.checks import cases, rows

HOLES = rows("rivet_holes")
# How to step up to a large hole is advice, not a size.
PROSE = {"over 3/16"}
SOURCES = {
    "1940s": "fighter",
    "MIL-R": "specification",
    "MIL-H": "design",
    "FAA-H": "handbook",
    "TM 10": "blind",
}


@pytest.mark.parametrize("row", cases(rows("drill_sizes"), "name"))
def test_series(row):
    found = drill(row["name"])
    assert (found.series, found.name) == (row["series"], row["name"])
    assert abs(found.diameter_in - Fraction(row["inch"])) < Fraction(1, 10**6)
    assert abs(found.diameter_mm - Fraction(row["mm"])) <= Fraction(51, 100000)


@pytest.mark.parametrize(
    "row", cases([r for r in HOLES if r["rivet"] not in PROSE], "rivet", "final drill")
)
def test_hole_for_rivet_under_its_own_source(row):
    diameter = Fraction(row["rivet"].split()[0])
    hole = hole_for_rivet(diameter, source=SOURCES[row["source"][:5]])
    assert hole.drill.name == row["final drill"]
    if row["final_in"]:
        assert hole.drill.diameter_in == Fraction(row["final_in"])
    if row["pilot"]:
        assert hole.pilot == row["pilot"].split()[0]
    if row["limits_in"]:
        assert "-".join(map(as_printed, hole.limits_in)) == row["limits_in"]


def as_printed(inches):
    return f"{float(inches):.3f}".removeprefix("0")


FIRST = [row for row in rows("first_checks") if row["topic"] == "drill"]


@pytest.mark.parametrize("row", cases(FIRST, "id", "input"))
def test_first_check_of_drills(row):
    for name, size in zip(row["input"].split(), row["expected"].split(), strict=True):
        assert drill(name).diameter_in == Fraction(size.rstrip("."))


PRACTICE = [row for row in rows("common_practice") if row["topic"] == "drill"]
# The clearance drill of a rivet stands in the drill table; the fact names no size.
UNANSWERED = {"numbered drill for a rivet"}


@pytest.mark.parametrize(
    "row", cases([r for r in PRACTICE if r["fact"] not in UNANSWERED], "fact")
)
def test_common_practice(row):
    fact, value = row["fact"], row["value"]
    if fact == "forms a shop keeps":
        assert drills.forms() == tuple(value.split(", "))
    elif rivet := re.match(r"(\S+) rivet final hole", fact):
        assert hole_for_rivet(Fraction(rivet[1])).drill.words + " drill" == value
    elif bolt := re.search(r"\((AN\d)\) hole", fact):
        assert clearance_drill(bolt[1]).drill == named(value)
    else:
        number = re.match(r"number (\d+) screw hole", fact)[1]
        assert clearance_drill(f"#{number} screw").drill == named(value)


def named(value):
    return drill(value.removesuffix(" drill").removesuffix(" in"))


def test_common_practice_of_a_countersink_pilot():
    row = next(r for r in rows("common_practice") if "pilot" in r["fact"])
    assert clearance_drill("3/32 countersink pilot").drill.words == row["value"]


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("40", "#40"),
        ("no. 40", "#40"),
        ("No 40", "#40"),
        ("number 40", "#40"),
        (" #40 ", "#40"),
        ("f", "F"),
        ("letter F", "F"),
        ("3/32", "3/32"),
        ('3/32"', "3/32"),
        ("3/32 in", "3/32"),
        ("2/64", "1/32"),
        ("2.5mm", "2.5 mm"),
        ("2.50 mm", "2.5 mm"),
        ("3", "#3"),
    ],
)
def test_names(text, name):
    found = drill(text)
    assert found.name == name
    assert drill(found.name) == found


@pytest.mark.parametrize("text", ["", "#0", "81", "AA", "17/32", "1/3", "0 mm", "Ä"])
def test_unknown_names_are_refused(text):
    with pytest.raises(Refused) as caught:
        drill(text)
    assert caught.value.code == "drill.unknown"


def test_metric_is_exact():
    assert drill("25.4 mm").diameter_in == 1
    assert drill("2.5 mm").diameter_mm == Fraction(5, 2)


@given(st.integers(1, 79))
def test_a_bigger_number_is_a_smaller_drill(number):
    assert drill(f"#{number}").diameter_in > drill(f"#{number + 1}").diameter_in


def test_the_classic_slip_in_words():
    sentence = compare("3/32", "40")
    assert sentence == (
        "A 3/32 (0.0938 in) drill is smaller than a number 40 (0.0980 in) drill."
    )
    assert "larger than" in compare("#30", "#40")
    assert "as large as" in compare("E", "1/4")


SIZES = [drill(row["name"]).diameter_in for row in tables.rows("drills")]


@given(st.fractions(min_value="0.0135", max_value="0.5"))
def test_nearest_bracket_the_size(size):
    low, high = drills.nearest_down(size), drills.nearest_up(size)
    assert low.diameter_in <= size <= high.diameter_in
    between = [each for each in SIZES if low.diameter_in < each < high.diameter_in]
    assert between == []


def test_of_equals_the_fraction_is_nearest():
    assert drills.nearest_up(Fraction(1, 4)).name == "1/4"
    assert drills.nearest_down(Fraction(1, 4)).name == "1/4"


def test_nothing_is_nearest_off_the_table():
    with pytest.raises(Refused):
        drills.nearest_up(Fraction(2))
    with pytest.raises(Refused):
        drills.nearest_down(Fraction(1, 1000))


def test_sources_differ_and_are_named():
    size = Fraction(3, 32)
    assert hole_for_rivet(size).key == drills.HOLE_SOURCES[0]
    names = {hole_for_rivet(size, source=key).drill.name for key in drills.HOLE_SOURCES}
    assert len(names) > 1
    assert hole_for_rivet(Fraction(5, 32)).key == "handbook"


def test_every_hole_says_who_decides():
    assert hole_for_rivet(Fraction(1, 8)).caution == AIRWORTHINESS
    assert clearance_drill("AN3").caution == AIRWORTHINESS


def test_unknown_holes_are_refused():
    with pytest.raises(Refused, match="any source"):
        hole_for_rivet(Fraction(1, 2))
    with pytest.raises(Refused, match="blind"):
        hole_for_rivet(Fraction(1, 16), source=drills.BLIND_HOLES)
    with pytest.raises(Refused, match="AN99"):
        clearance_drill("AN99")
