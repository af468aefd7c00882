"""Layout: pitch, edge and row distance by source, and the rivet for a sheet."""

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade import layout, tables
from inventory.trade.layout import breaches, limits
from tests.trade.checks import cases, rows

RULES = rows("layout_rules")
D = Fraction(1, 8)
# The rule and source of each row that gives limits in rivet diameters.
LIMITS = {
    "pitch, never below": ("pitch", "course"),
    "pitch, seldom below / above": ("pitch", "course"),
    "edge distance, never below": ("edge", "manual"),
    "edge distance flush": ("edge", "guide"),
    "row distance (transverse)": ("row", "review"),
    "row distance, never below": ("row", "manual"),
    "pitch": ("pitch", "review"),
    "pitch general": ("pitch", "general"),
    "edge distance": ("edge", "review"),
}
USUAL = {"exam guide": "guide", "lecture no": "notes"}
PATTERNS = {"double row pattern": "2", "triple row pattern": "3"}
SIZES = {
    "diameter from sheet",
    "diameter limits",
    "diameter floor",
    "tube",
    "edge margin 3/32 universal",
    "oversize repair",
    "deburr chamfer",
}
# Counted in test_strength, or a rule of vehicles and not of aircraft.
ELSEWHERE = {
    "count, sheet splice",
    "example 1",
    "example 2",
    "example 3",
    "formula behind the tables",
    "truck body single row",
}


def test_no_rule_is_left_out_by_accident():
    named = LIMITS.keys() | PATTERNS.keys() | SIZES | ELSEWHERE | {"pitch (usual)"}
    assert {row["rule"] for row in RULES} == named


def figures(text):
    """'2D min', '2-1/2 D', '4D-6D': every figure before a D, in diameters."""
    mixed = re.sub(r"(\d)-(\d)/(\d)", r"\1 \2/\3", text)
    found = re.findall(r"((?:\d+ )?\d+/\d+|\d+(?:\.\d+)?)(?: ?D|(?=-\d+D))", mixed)
    return [sum(map(Fraction, each.split())) for each in found]


def of(row):
    """The limits of a row's own source: the bolt manual's stands under its own key."""
    rule, key = LIMITS[row["rule"]]
    key = "bolt" if "use a bolt" in row["value"] else key
    return limits(rule, Fraction(1), "flush" if "flush" in row["rule"] else "any", key)


@pytest.mark.parametrize(
    "row", cases([r for r in RULES if r["rule"] in LIMITS], "rule", "value")
)
def test_limit_under_its_own_source(row):
    found, said = of(row), figures(row["value"])
    known = {found.least_in, *found.usual_in, found.most_in}
    assert said
    assert set(said) <= known
    if "never below" in row["rule"] or "min" in row["value"]:
        assert found.least_in in said


@pytest.mark.parametrize(
    "row", cases([r for r in RULES if r["rule"] == "pitch (usual)"], "rule", "value")
)
def test_usual_pitch_under_its_own_source(row):
    found = limits("pitch", Fraction(1), "any", USUAL[row["source"][:10]])
    low, high, least, *most = figures(row["value"])
    assert found.usual_in == (low, high)
    assert found.least_in == least
    assert [found.most_in] == (most or [None])


@pytest.mark.parametrize(
    "row", cases([r for r in RULES if r["rule"] in PATTERNS], "rule")
)
def test_row_pattern(row):
    labels = figures(row["value"].partition("labels")[2])
    pattern = tables.index("row_patterns", "rows")[(PATTERNS[row["rule"]],)]
    drawn = [Fraction(pattern[name]) for name in ("pitch_d", "row_d", "edge_d")]
    assert set(drawn) == set(labels[:4])


@pytest.mark.parametrize(
    "row", cases([r for r in RULES if r["rule"] in SIZES], "rule", "value")
)
def test_sizes(row):
    """Each row's figures against the function that gives them."""
    rule, value = row["rule"], row["value"]
    if rule == "diameter from sheet":
        assert value.startswith("3 x thickest sheet")
        assert layout.rivet_for_sheet(Fraction("0.032")) == Fraction(1, 8)
        assert layout.diameter_breaches(Fraction(5, 32), Fraction("0.032")) == ()
    elif rule == "diameter limits":
        assert value == "min = thickest sheet, max = 3 x thickest sheet"
        assert layout.diameter_breaches(D, D) == ()
        assert layout.diameter_breaches(D, D + Fraction(1, 64))
        assert layout.diameter_breaches(D, D / 3) == ()
    elif rule == "diameter floor":
        floor = Fraction(re.search(r"\d+/\d+", value)[0])
        assert layout.rivet_for_sheet(Fraction("0.016")) == floor
        assert layout.diameter_breaches(floor - Fraction(1, 32), Fraction("0.03"))
    elif rule == "tube":
        assert value == "rivet through a tube >= 1/8 of outer tube diameter"
        assert layout.rivet_for_tube(Fraction(1)) == Fraction(1, 8)
    elif rule.startswith("edge margin"):
        assert layout.edge_margin(Fraction(3, 32)).edge_in == Fraction(value.split()[0])
    elif rule == "oversize repair":
        assert [layout.most_oversize(n) for n in (20, 49, 50, 500)] == [4, 9, 10, 10]
        assert layout.next_oversize(D) == Fraction(5, 32)
        assert layout.next_oversize(Fraction(1, 4)) == Fraction(5, 16)
    else:
        assert value == "<= 10 % of stock thickness or .032, whichever is less"
        assert layout.most_deburr_chamfer(Fraction("0.040")) == Fraction("0.004")
        assert layout.most_deburr_chamfer(Fraction(1)) == Fraction("0.032")


FIRST = [row for row in rows("first_checks") if row["topic"] in ("diameter", "layout")]


@pytest.mark.parametrize("row", cases(FIRST, "id", "topic"))
def test_first_check_of_a_layout(row):
    if row["topic"] == "diameter":
        sheet = Fraction(row["input"].split()[1])
        assert row["expected"] == f"{float(3 * sheet):.3f}".lstrip("0") + " -> 1/8"
        assert layout.rivet_for_sheet(sheet) == Fraction(1, 8)
    else:
        assert row["expected"] == (
            "pitch >= .375 usual .5-1.0 edge >= .25 rows >= .3125"
        )
        pitch = limits("pitch", D)
        assert (pitch.least_in, pitch.usual_in) == (Fraction(3, 8), (Fraction(1, 2), 1))
        assert limits("edge", D).least_in == Fraction(1, 4)
        assert limits("row", D).least_in == Fraction(5, 16)


@pytest.mark.parametrize(
    ("rule", "size", "head", "words"),
    [
        ("pitch", "0.37", "universal", "under 3 D"),
        ("pitch", "1.6", "universal", "over 12 D"),
        ("edge", "0.24", "universal", "under 2 D"),
        ("edge", "0.26", "flush", "under 5/2 D"),
        ("row", "0.3", "universal", "under 5/2 D"),
    ],
)
def test_a_breach_names_its_rule_and_source(rule, size, head, words):
    (found,) = breaches(rule, Fraction(size), D, head)
    assert words in found.sentence
    assert found.source
    assert found.certainty in tables.MARKS


@given(st.sampled_from(["pitch", "edge", "row"]), st.fractions("0.1", 4))
def test_what_every_source_allows_has_no_breach(rule, size):
    every = [
        limits(rule, D, "universal", row["key"])
        for row in tables.rows("layout_limits")
        if row["rule"] == rule and row["key"] != "bolt" and row["head"] == ""
    ]
    allowed = all(
        each.least_in <= size and (each.most_in is None or size <= each.most_in)
        for each in every
    )
    if allowed:
        assert breaches(rule, size, D) == ()
    elif size < min(each.least_in for each in every):
        assert breaches(rule, size, D)


def test_the_unknown_is_refused():
    with pytest.raises(Refused, match="known: course"):
        limits("pitch", D, source="nobody")
    with pytest.raises(Refused, match="1/8 in"):
        layout.rivet_for_sheet(Fraction(1, 2))
    with pytest.raises(Refused):
        layout.rivet_for_sheet(Fraction(0))
    with pytest.raises(Refused, match="3/32"):
        layout.edge_margin(Fraction(1, 8))
