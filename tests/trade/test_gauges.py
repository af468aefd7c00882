"""Sheets: the usual thicknesses, and the nearest to a slipped point."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.trade.gauges import gauges, nearest
from tests.trade.checks import cases, mark, rows


@pytest.mark.parametrize("row", cases(rows("sheet_gauges"), "thickness_in"))
def test_a_listed_sheet_is_usual(row):
    found = nearest(Fraction(row["thickness_in"]))
    assert found.thickness_in == Fraction(row["thickness_in"])
    assert found.certainty.replace(" ", "_") == mark(row["certainty"])


@given(st.fractions("0.001", 1))
def test_no_usual_sheet_is_nearer(thickness):
    off = abs(nearest(thickness).thickness_in - thickness)
    assert all(abs(each.thickness_in - thickness) >= off for each in gauges())
