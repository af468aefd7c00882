"""Lengths: the published rule, its worked examples and its thick grips."""

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade.lengths import (
    Joint,
    best,
    dash_for,
    extruded_length,
    fits,
    grip_for,
    print_dash,
    required_length,
)
from tests.trade.checks import cases, rows

EXAMPLES = rows("rivet_length_examples")
WORKED = [row for row in EXAMPLES if re.match(r"0\.\d+", row["grip_in"])]
EXTRUDED = [row for row in EXAMPLES if row["grip_in"].startswith("extruded")]
# The rule in prose: tested below by its numbers, not by its rows.
PROSE = {
    "any <= 2 in, dia <= 1/4",
    "over 2 in, dia <= 1/4",
    "<= 1 in, dia >= 5/16",
    "over 1 in, dia >= 5/16",
    "general",
}


def test_no_example_is_left_out_by_accident():
    taken = [row["grip_in"] for row in WORKED + EXTRUDED]
    assert {row["grip_in"] for row in EXAMPLES} == PROSE | set(taken)


@pytest.mark.parametrize("row", cases(WORKED, "grip_in", "dia_in"))
def test_worked_example(row):
    grip, diameter = Fraction(row["grip_in"].split()[0]), Fraction(row["dia_in"])
    length = required_length(grip, diameter)
    assert length == Fraction(row["length_in"])
    assert print_dash(dash_for(length)) == re.match(r"-(\d+)", row["dash"])[1]


@pytest.mark.parametrize("row", cases(EXTRUDED, "grip_in"))
def test_extruded_length_of_the_1940s_manual(row):
    diameter = Fraction(row["grip_in"].split()[-1])
    printed = Fraction(row["length_in"].split()[0])
    assert extruded_length(diameter, source="fighter") == printed


FIRST = [row for row in rows("first_checks") if row["topic"] == "length"]


@pytest.mark.parametrize("row", cases(FIRST, "id", "input"))
def test_first_check_of_a_length(row):
    text, grip = row["input"], Fraction(0)
    for sheet in re.findall(r"(?:G |\+|sheets )([\d.]+)", text):
        grip += Fraction(sheet)
    length = required_length(grip, Fraction(re.search(r"D (\S+)", text)[1]))
    expected = row["expected"]
    assert length == Fraction(re.search(r"[\d.]+$|^[\d.]+(?= ->)", expected)[0])
    if dash := re.search(r"dash (\d+)", expected):
        assert dash_for(length) == int(dash[1])


# Published: TM 9-2320-303-24-2 table 5; the numbers are computed from its rule.
@pytest.mark.parametrize(
    ("grip", "diameter", "sixteenths"),
    [
        ("2", "1/4", 0),
        ("2.01", "1/4", 1),
        ("3.99", "1/8", 1),
        ("4", "1/8", 2),
        ("1", "5/16", 0),
        ("1.01", "5/16", 1),
        ("2", "3/8", 2),
    ],
)
def test_thick_grips_add_sixteenths(grip, diameter, sixteenths):
    plain = Fraction(grip) + Fraction(diameter) * Fraction(3, 2)
    extra = required_length(Fraction(grip), Fraction(diameter)) - plain
    assert extra == Fraction(sixteenths, 16)


@given(st.fractions(min_value="0.01", max_value=8), st.integers(2, 12))
def test_a_thicker_grip_never_needs_a_shorter_rivet(grip, diameter):
    size, more = Fraction(diameter, 32), grip + Fraction(1, 100)
    assert required_length(more, size) > required_length(grip, size)


@given(st.integers(1, 128), st.booleans())
def test_dash_of_a_length_on_the_grid_is_exact(steps, halves):
    length = Fraction(steps, 32 if halves else 16)
    assert dash_for(length, halves=halves) == length * 16


def test_halves_count_only_when_asked_and_midway_goes_up():
    length = Fraction("3.5") / 16
    assert print_dash(dash_for(length, halves=True)) == "3.5"
    assert print_dash(dash_for(length)) == "4"


@pytest.mark.parametrize(("grip", "diameter"), [(0, 1), (1, 0), (-1, 1)])
def test_nothing_has_no_length(grip, diameter):
    with pytest.raises(Refused) as caught:
        required_length(Fraction(grip), Fraction(diameter))
    assert caught.value.code == "length.impossible"


def test_a_silent_source_refuses():
    with pytest.raises(Refused, match="fighter"):
        extruded_length(Fraction(1, 4), source="fighter")


JOINTS = st.tuples(st.integers(3, 8), st.fractions("0.02", 1)).map(
    lambda pair: Joint(
        Fraction(pair[0], 32), pair[1], Fraction(pair[0], 32) * Fraction(103, 100)
    )
)


@pytest.mark.slow
@given(JOINTS)
def test_the_best_length_is_acceptable_and_none_is_nearer(joint):
    best_fit = best(joint)
    wanted = required_length(joint.grip, joint.diameter) * 16
    near = [
        each
        for each in fits(joint)
        if each.head.acceptable
        and abs(each.dash - wanted) < abs(best_fit.dash - wanted)
    ]
    assert best_fit.head.acceptable
    assert near == []


@given(JOINTS)
def test_acceptable_lengths_follow_one_another(joint):
    dashes = [each.dash for each in fits(joint) if each.head.acceptable]
    assert dashes == [dashes[0] + Fraction(n, 2) for n in range(len(dashes))]


def test_only_the_lengths_on_the_shelf_are_chosen():
    joint = Joint(Fraction(1, 8), Fraction("0.064"), Fraction("0.1285"))
    assert best(joint, [Fraction(8)]) is None
    assert best(joint, [Fraction(3), Fraction(8)]).dash == 3


@given(st.fractions(min_value="0.01", max_value=9), st.integers(2, 12))
def test_the_grip_of_a_length_is_the_reverse_of_the_rule(grip, steps):
    diameter = Fraction(steps, 32)
    assert grip_for(required_length(grip, diameter), diameter) == grip


@given(st.fractions(min_value="0.2", max_value=9), st.integers(2, 12))
def test_any_length_has_a_grip_that_it_is_not_too_short_for(length, steps):
    diameter = Fraction(steps, 32)
    grip = grip_for(length, diameter)
    if grip is None:
        assert length <= extruded_length(diameter)
    else:
        thinner = grip - Fraction(1, 1000)
        if thinner > 0:
            assert required_length(thinner, diameter) <= length
