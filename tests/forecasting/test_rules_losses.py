"""Temporary fasteners: the peaks published, losses against scipy and simulation."""

from datetime import date, timedelta
from math import ceil

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inventory.errors import Refused
from inventory.forecasting.rules.losses import (
    Losing,
    chance_enough,
    every_nth,
    expected_pool,
    to_buy,
)
from inventory.forecasting.rules.pool import Hold, peak
from tests.forecasting.examples import cases

CASES = ("pool_rooms", "pool_weighted")
DAY = date(2027, 1, 1)


def held(row):
    start, end, *quantity = row
    count = quantity[0] if quantity else 1
    return Hold(1, 1, count, DAY + timedelta(start), DAY + timedelta(end))


@pytest.mark.parametrize("case", cases("pool_rooms"))
def test_the_peak_of_overlapping_spans(case):
    assert peak(map(held, case["inputs"])).quantity == case["expected"]


@pytest.mark.parametrize("case", cases("pool_weighted"))
def test_the_peak_of_weighted_spans(case):
    top = peak(map(held, case["inputs"]))
    most, day = case["expected"]
    assert (top.quantity, top.day) == (most, DAY + timedelta(day))


@pytest.mark.parametrize(("uses", "losing"), [(5000, Losing()), (700, Losing(6, 800))])
def test_losses_are_scipys_beta_binomial(uses, losing):
    scipys, found = stats.betabinom(uses, losing.lost, losing.kept), losing.over(uses)
    assert found.expected == pytest.approx(float(scipys.mean()), rel=1e-6)
    for share in (0.5, 0.95, 0.99):
        assert found.at(share) == scipys.ppf(share)


def test_the_expected_pool_is_not_that_of_the_expected_chance():
    # E (1 - chance)^U over the beta, by simulation.
    chance = np.random.default_rng(3).beta(2, 98, 400_000)
    losing = Losing(2, 98)
    found = expected_pool(500, 60, losing)
    assert found == pytest.approx(500 * ((1 - chance) ** 60).mean(), rel=0.005)
    assert found > 500 * (1 - 0.02) ** 60
    assert expected_pool(500, 0, losing) == 500


def test_what_is_bought_is_enough_and_one_less_is_not():
    losses = Losing(3, 997).over(2000)
    bought = to_buy(pool=500, held=530, losses=losses)
    assert chance_enough(500 + bought, 530, losses) >= 0.95
    assert chance_enough(500 + bought - 1, 530, losses) < 0.95
    assert to_buy(pool=900, held=530, losses=losses) == 0
    assert chance_enough(529, 530, losses) == 0


def test_the_record_moves_the_chance():
    assert Losing().after(10, 990) == Losing(11, 1989)


@given(pool=st.integers(1, 2000), holes=st.integers(1, 20_000))
def test_the_density_is_the_closest_that_the_pool_allows(pool, holes):
    nth = every_nth(pool, holes)
    assert ceil(holes / nth) <= pool
    assert nth == 1 or ceil(holes / (nth - 1)) > pool


def test_every_third_hole_is_all_you_have():
    # Common practice, no source: one wing at every 2nd hole holds about 530 (computed on an anecdote).
    assert every_nth(530, 1060) == 2
    assert every_nth(400, 1060) == 3
    assert every_nth(0, 1060) is None


@pytest.mark.parametrize(
    "ask", [lambda: Losing(0, 1), lambda: Losing().over(-1), lambda: every_nth(3, 0)]
)
def test_what_cannot_be_is_refused(ask):
    with pytest.raises(Refused) as refused:
        ask()
    assert refused.value.code == "forecasting.losses"
