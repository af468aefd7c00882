"""Strength counts: the tables and worked examples of AC 43.13-1B, by the rule."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade import strength
from inventory.trade.strength import (
    bolts_per_inch,
    formula_per_inch,
    rivets_per_inch,
    splice,
)
from tests.trade.checks import cases, mark, rows

COLUMNS = {
    "r3_32": "3/32",
    "r1_8": "1/8",
    "r5_32": "5/32",
    "r3_16": "3/16",
    "r1_4": "1/4",
}
# How near the printed figures the rule must come.
NEAR = Fraction("0.15")
PRINTED = rows("ac4313_rivets_per_inch")
FIGURES = [
    pytest.param(
        row["table"].split()[0],
        row["sheet_in"],
        column,
        row[column],
        id=f"{row['table'].split()[0]} {row['sheet_in']} {column} "
        f"[{mark(row['certainty'])}; {row['source'][:40]}]",
    )
    for row in PRINTED
    for column in (*COLUMNS, "AN3_bolts")
    if row[column]
]


@pytest.mark.parametrize(("table", "sheet", "column", "printed"), FIGURES)
def test_rivets_per_inch_of_the_circular(table, sheet, column, printed):
    if column == "AN3_bolts":
        found = bolts_per_inch(table, Fraction(3, 16))
    else:
        cell = rivets_per_inch(table, Fraction(sheet), Fraction(COLUMNS[column]))
        assert (cell.rivets, cell.certainty) == (Fraction(printed), "published")
        found = formula_per_inch(table, Fraction(sheet), Fraction(COLUMNS[column]))
    assert abs(found - Fraction(printed)) <= NEAR


FIRST = [
    row for row in rows("first_checks") if row["topic"] in ("count", "rivets per inch")
]


@pytest.mark.parametrize("row", cases(FIRST, "id", "input"))
def test_first_check_of_a_count(row):
    sheet, size = Fraction("0.040"), Fraction(1, 8)
    if row["id"] == "S07":
        found = splice(Fraction(10), Fraction("0.032"), size, "4-10", "lap")
        assert row["expected"] == f"{found.count} (2 rows of {-(-found.count // 2)})"
    elif row["id"] == "S08":
        counts = [
            splice(Fraction(width), sheet, size, "4-10", "frame").count
            for width in ("0.6", "2.0")
        ]
        assert row["expected"] == " and ".join(map(str, counts))
    else:
        first, second = map(Fraction, row["expected"].split(";"))
        assert rivets_per_inch("4-10", sheet, size).rivets == first
        by_rule = rivets_per_inch("4-11", Fraction("0.064"), Fraction(3, 32))
        assert abs(by_rule.rivets - second) <= NEAR


LAYOUT = rows("layout_rules")
EXAMPLES = [row for row in LAYOUT if row["rule"].startswith("example")]


@pytest.mark.parametrize("row", cases(EXAMPLES, "rule", "value"))
def test_worked_example_comes_out_exactly(row):
    size, sheet = Fraction(1, 8), Fraction("0.040")
    if row["rule"] == "example 1":
        found = splice(Fraction(10), Fraction("0.032"), size, "4-10", "lap")
        assert f"-> {found.count} rivets" in row["value"]
        assert f"{float(found.per_inch)} x .75" in row["value"]
    else:
        width = Fraction("0.6" if row["rule"] == "example 2" else "2.0")
        found = splice(width, sheet, size, "4-10", "frame")
        assert f"x {float(found.per_inch)} =" in row["value"]
        assert f"-> {found.full};" in row["value"]
        assert f"60 % = {float(found.full * found.share):.1f}" in row["value"]
        assert f"-> {found.count}" in row["value"].partition("60 %")[2]


@pytest.mark.parametrize(
    "row", cases([r for r in LAYOUT if r["rule"] == "count, sheet splice"], "value")
)
def test_shares_of_a_splice(row):
    for kind, share in (("lap", ".75"), ("stringer", ".80"), ("frame", ".60")):
        found = splice(Fraction(10), Fraction("0.04"), Fraction(1, 8), "4-9", kind)
        assert f"x {share}" in row["value"]
        assert found.share == Fraction(share)


@pytest.mark.parametrize(
    "row", cases([r for r in LAYOUT if r["rule"].startswith("formula")], "rule")
)
def test_the_formula_behind_the_tables(row):
    """1/(k D) and t/(p pi D^2/4), whichever is more, as the row says; k and p its own."""
    for text in ("1.60,.40 (4-9)", "1.60,.50 (4-10)", "1.65,.70 (4-11)"):
        assert text in row["value"]
        k, p = map(float, text.split()[0].split(","))
        table = text.partition("(")[2].rstrip(")")
        for sheet, size, hole in ((0.02, "1/8", 0.1285), (0.128, "3/16", 0.191)):
            area = 3.14159265 * hole**2 / 4
            expected = max(1 / (k * hole), sheet / (p * area))
            found = formula_per_inch(table, Fraction(str(sheet)), Fraction(size))
            assert float(found) == pytest.approx(expected, abs=0.05001)


@given(
    st.sampled_from(strength.TABLES),
    st.fractions("0.016", "0.128"),
    st.sampled_from(list(COLUMNS.values())),
    st.fractions("0.5", 40),
)
def test_wider_or_thicker_never_takes_fewer(table, sheet, size, width):
    try:
        found = splice(width, sheet, Fraction(size), table)
        thicker = splice(width, sheet + Fraction(1, 100), Fraction(size), table)
    except Refused as refusal:
        assert refusal.code == "splice.cell"  # noqa: PT017 - either is right here
        return
    wider = splice(width + 1, sheet, Fraction(size), table)
    assert found.count <= thicker.count
    assert found.count <= wider.count
    assert found.count <= found.full


@pytest.mark.parametrize(
    ("table", "sheet", "size"),
    [
        ("4-10", ".016", "5/32"),
        ("4-10", ".051", "3/32"),
        ("4-10", ".012", "1/8"),
        ("4-11", ".250", "3/16"),
        ("4-10", ".045", "3/32"),
    ],
)
def test_where_the_circular_prints_no_count_there_is_none(table, sheet, size):
    with pytest.raises(Refused, match="prints a count of"):
        rivets_per_inch(table, Fraction(sheet), Fraction(size))


def test_between_two_gauges_the_formula_stays_between_their_cells():
    found = rivets_per_inch("4-10", Fraction("0.038"), Fraction(1, 8))
    assert (found.rivets, found.certainty) == (Fraction("5.9"), "computed")


def test_the_unknown_is_refused():
    one = Fraction(1)
    with pytest.raises(Refused, match="4-9, 4-10, 4-11"):
        splice(one, one, Fraction(1, 8), "4-12")
    with pytest.raises(Refused, match="lap, stringer"):
        splice(one, one, Fraction(1, 8), "4-9", "butt")
    with pytest.raises(Refused, match="above nought"):
        splice(Fraction(-1), one, Fraction(1, 8), "4-9")
