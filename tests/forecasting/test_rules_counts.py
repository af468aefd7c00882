"""Distributions of counts against scipy, exact fractions and published losses."""

from fractions import Fraction
from math import comb, factorial, prod

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special, stats

from inventory.forecasting.rules.counts import (
    MOST,
    NONE,
    TAIL,
    Count,
    beta_binomial,
    beta_negative_binomial,
    gamma_ratio,
    negative_binomial,
)
from tests.forecasting.examples import cases, printed

LOSSES = (
    "stockpyl_17_poisson_loss",
    "stockpyl_19_negbin_loss_mean,sd",
    "stockpyl_20_geometric_loss",
)
CASES = (
    *LOSSES,
    "scipy_betanbinom_mpmath",
    "moma_beta_binomial",
    "fraud_calls_gamma_poisson",
)


@given(x=st.floats(1e-3, 1e4), d=st.floats(0, 1e3))
def test_the_ratio_of_gammas_is_the_difference_of_their_logarithms(x, d):
    expected = special.gammaln(x + d) - special.gammaln(x)
    scale = abs(special.gammaln(x + d)) + abs(special.gammaln(x)) + 1
    assert float(gamma_ratio(x, d)) == pytest.approx(expected, abs=1e-14 * scale)


def test_the_ratio_of_gammas_of_millions_keeps_its_digits():
    # Gamma(x + 3) / Gamma(x) = x (x+1) (x+2), exactly.
    x = 5_000_000
    exact = float(Fraction(x * (x + 1) * (x + 2)))
    assert np.exp(gamma_ratio(x, 3)) == pytest.approx(exact, rel=2e-13)


@pytest.mark.parametrize("case", cases("scipy_betanbinom_mpmath"))
def test_single_chances_computed_with_mpmath(case):
    found = [
        beta_negative_binomial(int(n), a, b).pmf[k]
        for k, n, a, b in case["inputs"]["cases"]
    ]
    expected = case["expected"]["pmf"]
    assert found[1:] == pytest.approx(expected[1:], rel=case["tolerance"]["rel"])
    # The first row was made with 15 digits and lost seven: see the exact one below.
    assert found[0] == pytest.approx(expected[0], rel=4e-9)


def test_the_chance_of_five_in_five_million_in_exact_fractions():
    n, a, b, k = 5_000_000, 5, 20, 5
    above = comb(n + k - 1, k) * factorial(b + k - 1) * factorial(a + b - 1)
    below = prod(range(a + n, a + n + b + k)) * factorial(a - 1) * factorial(b - 1)
    exact = float(Fraction(above, below))
    assert beta_negative_binomial(n, a, b).pmf[k] == pytest.approx(exact, rel=1e-12)


@pytest.mark.parametrize(
    ("tries", "yes", "no"), [(1, 1, 1), (20, 18, 92), (5000, 1, 999), (300, 0.4, 2.5)]
)
def test_beta_binomial_is_scipys(tries, yes, no):
    found = beta_binomial(tries, yes, no)
    scipys = stats.betabinom(tries, yes, no).pmf(np.arange(found.pmf.size))
    assert found.pmf == pytest.approx(scipys, rel=1e-8, abs=1e-13)
    assert 1 - found.pmf.sum() < TAIL


@pytest.mark.parametrize("case", cases("moma_beta_binomial"))
def test_a_published_predictive_of_yes_and_no(case):
    yes, no = case["inputs"]["prior"]
    y, n = case["inputs"]["y"], case["inputs"]["n"]
    found = beta_binomial(case["inputs"]["new_n"], yes + y, no + n - y)
    expected = case["expected"]
    assert found.pmf[3] == pytest.approx(expected["pred20_pmf3"], rel=1e-9)
    assert found.expected == pytest.approx(expected["pred20_mean"], rel=1e-6)
    below = stats.beta(yes + y, no + n - y).cdf(0.2)
    assert printed(below, 0.849) == case["published"]["P_lt_02"]


@pytest.mark.parametrize("case", cases("fraud_calls_gamma_poisson"))
def test_a_published_gamma_rate(case):
    shape, over = case["inputs"]["prior"]
    data = case["inputs"]["data"]
    found = negative_binomial(1, shape + sum(data), over + len(data))
    expected = case["expected"]
    assert found.pmf[:6] == pytest.approx(expected["pred_nb"], rel=1e-9)
    assert found.expected == pytest.approx(expected["mean"], rel=1e-6)


def _demand(given):
    """The demand of a published loss, as a count."""
    if "p" in given:
        return Count(stats.geom(given["p"]).pmf(np.arange(200)))
    if "sd" not in given:
        return Count(stats.poisson(given["mean"]).pmf(np.arange(120)))
    # Mean m and variance s^2: a gamma of shape m^2 / (s^2 - m).
    shape = given["mean"] ** 2 / (given["sd"] ** 2 - given["mean"])
    return negative_binomial(given["mean"], shape, shape)


@pytest.mark.parametrize("case", cases(*LOSSES))
def test_what_is_lacking_on_average(case):
    x, demand = case["inputs"]["x"], _demand(case["inputs"])
    lacking, over = case["expected"]
    assert demand.short_by(x) == pytest.approx(lacking, rel=1e-6)
    assert x - demand.expected + demand.short_by(x) == pytest.approx(over, rel=1e-6)


def test_the_sum_of_two_counts_has_the_sums_mean_and_variance():
    one, two = beta_binomial(40, 3, 7), negative_binomial(10, 4, 5)
    both = one.plus(two)
    assert both.expected == pytest.approx(one.expected + two.expected, rel=1e-7)
    assert both.sd**2 == pytest.approx(one.sd**2 + two.sd**2, rel=1e-6)
    assert one.plus(NONE).pmf == pytest.approx(one.pmf)


def test_quantiles_take_exact_ties():
    coin = Count(np.array([0.25, 0.5, 0.25]))
    assert [coin.at(share) for share in (0, 0.25, 0.26, 0.75, 1)] == [0, 0, 1, 1, 2]
    assert [coin.within(k) for k in (-1, 0, 1, 9)] == [0, 0.25, 0.75, 1]


def test_a_tail_without_end_stops_at_the_stated_cap():
    assert beta_negative_binomial(10, 1, 1).pmf.size == MOST


def test_nothing_tried_is_nothing_counted():
    assert beta_binomial(0, 1, 1).at(0.99) == 0
    assert negative_binomial(0, 1, 1).at(0.99) == 0


def test_what_was_computed_cannot_be_changed():
    with pytest.raises(ValueError, match="read-only"):
        beta_binomial(3, 1, 1).pmf[0] = 1
