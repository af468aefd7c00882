"""What a quantity may be, and which is asked about: the shop's own choices."""

import pytest

from inventory.errors import Refused
from inventory.ledger.rules import Verb, checked_quantity, is_cancelled, is_unlikely


@pytest.mark.parametrize(
    ("verb", "quantity", "held", "usual", "asked"),
    [
        (Verb.RECEIVE, 99_999, 350, 5_600, True),
        (Verb.RECEIVE, 5_600, 0, 5_600, False),
        (Verb.RECEIVE, 2_500, 250, 0, False),
        (Verb.RECEIVE, 2_501, 250, 0, True),
        (Verb.PULL, 250, 2, 3, False),
        (Verb.PULL, 251, 2, 3, True),
        (Verb.COUNT, 10_000, 0, 0, False),
        (Verb.COUNT, 10_001, 0, 0, True),
        (Verb.COUNT, 29, 300, 0, True),
        (Verb.COUNT, 30, 300, 0, False),
        (Verb.COUNT, 0, 250, 0, False),
        (Verb.PULL, 29, 300, 0, False),
        (Verb.PULL, 600, 300, 5_600, False),
        (Verb.PULL, 601, 300, 5_600, True),
        (Verb.PULL, 600, 0, 60, False),
    ],
)
def test_what_may_be_a_slip(verb, quantity, held, usual, asked):
    """Ten times what is usual, twice what is there, and no few pieces: choices."""
    assert is_unlikely(verb, quantity, held, usual) is asked


@pytest.mark.parametrize(
    ("net", "held", "difference", "is_one"),
    [
        (250, 0, -250, False),
        (251, 0, -251, True),
        (3_000, 300, -3_000, False),
        (3_001, 300, -3_001, True),
        (5_000, 300, -4_501, True),
        (5_000, 300, -4_500, False),
        (5_000, 300, -5_499, True),
        (5_000, 300, -5_500, False),
    ],
)
def test_a_count_takes_back_what_was_unlikely(net, held, difference, is_one):
    """Over ten times what was there, and a tenth of it either way: choices."""
    assert is_cancelled(net, held, difference) is is_one


@pytest.mark.parametrize(
    ("value", "number"),
    [
        (" 12 ", 12),
        ("000000000012", 12),
        (1_000_000, 1_000_000),
        ("0000000000012", None),
    ]
    + [(each, None) for each in (0, 1_000_001, True, "-1", "1.5", "", "١٢", None)],
)
def test_a_quantity_is_a_whole_number_from_one_to_a_million(value, number):
    if number is None:
        with pytest.raises(Refused, match="whole number"):
            checked_quantity(value)
    else:
        assert checked_quantity(value) == number


def test_a_count_may_find_nothing():
    assert checked_quantity("0", zero=True) == 0
