"""Driven heads: the published limits, and volume that neither appears nor vanishes."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade import driven
from inventory.trade.driven import grips_for, least_head, nominal_head, shop_head
from tests.trade.checks import cases, rows

LIMITS = rows("driven_heads")
ANY = "any"
SIZES = st.integers(2, 12).map(lambda steps: Fraction(steps, 32))


def within_print(figure, printed):
    """Equal to a figure as printed; a half in the last place may go either way."""
    if not printed:
        return True
    places = len(printed.partition(".")[2])
    return abs(figure - Fraction(printed)) <= Fraction(1, 2 * 10**places)


@pytest.mark.parametrize(
    "row", cases([r for r in LIMITS if r["rivet"] != ANY], "standard", "rivet")
)
def test_published_head(row):
    diameter = Fraction(row["rivet"])
    if row["standard"].startswith("1940s"):
        # Its figures are 1.5 D and 0.5 D cut to three places, .093 for .09375.
        head = nominal_head(diameter, source="fighter")
        assert head.diameter_in == Fraction(row["nom_dia"])
        assert head.height_in == Fraction(row["nom_height"])
    elif row["standard"].startswith("handbook"):
        head = nominal_head(diameter)
        assert within_print(head.diameter_in, row["nom_dia"])
        assert within_print(head.height_in, row["nom_height"])
    else:
        head = least_head(diameter)
        assert within_print(head.diameter_in, row["min_dia"])
        assert within_print(head.height_in, row["height_limits"])


@pytest.mark.parametrize(
    "row", cases([r for r in LIMITS if r["rivet"] == ANY], "standard")
)
def test_published_head_by_factor(row):
    head = least_head(Fraction(1), source="equipment")
    assert f"{float(head.diameter_in):.1f}D" == row["min_dia"]
    assert f"{float(head.height_in):.1f}D".removeprefix("0") == row["height_limits"]


FIRST = [row for row in rows("first_checks") if row["topic"] == "driven head min"]
UPSET = [row for row in rows("driving") if row["item"] == "upset head"]


@pytest.mark.parametrize("row", cases(FIRST, "id", "input"))
def test_first_check_of_a_driven_head(row):
    head = least_head(Fraction(row["input"].split()[1]))
    words = row["expected"].split()
    assert (head.diameter_in, head.height_in) == (
        Fraction(words[1]),
        Fraction(words[3]),
    )


@pytest.mark.parametrize("row", cases(UPSET, "item"))
def test_7050_rivets_need_a_wider_head(row):
    assert row["value"] == ">= 1.3D dia (7050: 1.4D), >= .3D high"
    assert least_head(Fraction(1)).diameter_in == Fraction("1.3")
    assert least_head(Fraction(1), alloy="E").diameter_in == Fraction("1.4")
    assert least_head(Fraction(1), alloy="E").height_in == Fraction("0.3")


@given(SIZES, st.integers(4, 64), st.fractions("0.02", 2))
def test_no_metal_is_lost(diameter, halves, grip):
    length, hole = Fraction(halves, 32), diameter * Fraction(102, 100)
    head = shop_head(diameter, length, grip, hole)
    upset = head.diameter_in**2 * head.height_in + grip * hole**2
    if head.fit == "none":
        assert length * diameter**2 <= grip * hole**2
    else:
        assert upset == length * diameter**2


@given(SIZES, st.integers(4, 63), st.fractions("0.02", 1))
def test_a_longer_rivet_makes_a_higher_head_and_a_thicker_grip_a_lower_one(
    diameter, halves, grip
):
    length, hole = Fraction(halves, 32), diameter * Fraction(102, 100)
    head = shop_head(diameter, length, grip, hole)
    longer = shop_head(diameter, length + Fraction(1, 32), grip, hole)
    thicker = shop_head(diameter, length, grip + Fraction(1, 100), hole)
    assert thicker.height_in <= head.height_in <= longer.height_in
    assert type(head.height_in) is Fraction


@given(SIZES, st.integers(4, 64))
def test_the_grips_of_a_length_are_those_on_which_its_head_is_acceptable(diameter, n):
    length, hole = Fraction(n, 32), diameter * Fraction(102, 100)
    reach = grips_for(diameter, length, hole)
    if reach is None:
        bare = shop_head(diameter, length, Fraction(1, 1000), hole)
        assert bare.fit in {"none", "short"}
        return
    low, high = reach
    assert shop_head(diameter, length, high, hole).fit == "low"
    assert shop_head(diameter, length, high + Fraction(1, 1000), hole).fit in {
        "short",
        "none",
    }
    if low:
        assert shop_head(diameter, length, low, hole).fit == "good"
        assert shop_head(diameter, length, low - Fraction(1, 1000), hole).fit == "tall"


def test_a_source_without_the_size_refuses():
    with pytest.raises(Refused, match="handbook, fighter"):
        nominal_head(Fraction(1, 16), source="fighter")
    with pytest.raises(Refused, match="design, equipment"):
        least_head(Fraction(1, 8), source="nobody")


def test_the_most_is_a_guess_and_says_so():
    nominal = nominal_head(Fraction(1, 8))
    assert "guess" in driven.MOST_MARK
    most = driven.MOST_HEIGHTS * nominal.height_in
    length = (most * nominal.diameter_in**2) / Fraction(1, 8) ** 2
    assert shop_head(Fraction(1, 8), length, Fraction(0), Fraction(1, 8)).fit == "good"
