"""Sizes: fractions and decimals read and printed."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade.sizes import (
    parse_size,
    print_decimal,
    print_size,
)


@given(st.integers(1, 64 * 20))
def test_sixty_fourths_print_and_read_back(steps):
    size = Fraction(steps, 64)
    assert parse_size(print_size(size)) == size


@given(st.integers(1, 99999))
def test_decimals_read_and_print_back(tenthousandths):
    size = Fraction(tenthousandths, 10000)
    assert parse_size(print_decimal(size)) == size
    assert parse_size(print_size(size)) == size


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("3/32", Fraction(3, 32)),
        (".125", Fraction(1, 8)),
        ("0.125", Fraction(1, 8)),
        ("1 1/4", Fraction(5, 4)),
        ("1-1/4", Fraction(5, 4)),
        ("1\u20111/4", Fraction(5, 4)),
        ('3/32"', Fraction(3, 32)),
        ("3/32 in", Fraction(3, 32)),
        ("2", Fraction(2)),
        ("2.54 mm", Fraction(1, 10)),
    ],
)
def test_spellings(text, size):
    assert parse_size(text) == size


@pytest.mark.parametrize(
    "text", ["", "0", "0/32", "1/0", "1/3", "1 9/8", "-1/8", "1/8/2", "a", ".", "1 1"]
)
def test_anything_else_is_refused(text):
    with pytest.raises(Refused) as caught:
        parse_size(text)
    assert caught.value.code == "size.unknown"


@pytest.mark.parametrize(
    ("size", "printed"),
    [("3/32", "3/32"), ("5/4", "1 1/4"), ("2", "2"), ("63/1000", ".063")],
)
def test_print(size, printed):
    assert print_size(Fraction(size)) == printed


def test_decimals_round_the_half_up():
    assert print_decimal(Fraction(3, 32)) == "0.0938"
    assert print_decimal(Fraction(5, 32), places=2) == "0.16"
