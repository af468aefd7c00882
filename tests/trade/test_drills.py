"""Drills: the standard series, the sources that differ, and the classic slips."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade import drills, tables
from inventory.trade.drills import compare, drill
from tests.trade.checks import cases, rows


@pytest.mark.parametrize("row", cases(rows("drill_sizes"), "name"))
def test_series(row):
    found = drill(row["name"])
    assert (found.series, found.name) == (row["series"], row["name"])
    assert abs(found.diameter_in - Fraction(row["inch"])) < Fraction(1, 10**6)
    assert abs(found.diameter_mm - Fraction(row["mm"])) <= Fraction(51, 100000)


FIRST = [row for row in rows("first_checks") if row["topic"] == "drill"]


@pytest.mark.parametrize("row", cases(FIRST, "id", "input"))
def test_first_check_of_drills(row):
    for name, size in zip(row["input"].split(), row["expected"].split(), strict=True):
        assert drill(name).diameter_in == Fraction(size.rstrip("."))


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


@given(st.fractions(min_value="0.0135", max_value="0.5"))
def test_beside_are_the_next_ones_and_never_the_same(size):
    down, up = drills.next_sizes(size)
    assert all(each is None or each.diameter_in != size for each in (down, up))
    low = down.diameter_in if down else Fraction(0)
    high = up.diameter_in if up else Fraction(1)
    assert [each for each in SIZES if low < each < high and each != size] == []


def test_beside_the_ends_there_is_nothing():
    assert drills.next_sizes(Fraction("0.0135"))[0] is None
    assert drills.next_sizes(Fraction(1, 2))[1] is None


# Common practice, no source: a 3/32 bit is not a number 40.
@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("#40", "A 3/32 (0.0938 in) drill is smaller than a number 40 (0.0980 in)"),
        ("3/32", "A 3/32 rivet does not enter a hole of its own size"),
        ("#30", "the two get swapped"),
        ("#7", "A bigger drill number is a smaller drill."),
    ],
)
def test_the_slips_of_a_drill_are_named(name, words):
    assert words in " ".join(drills.slips(drill(name)))


def test_a_letter_drill_that_nobody_mistakes_has_no_slip():
    assert drills.slips(drill("Q")) == ()
