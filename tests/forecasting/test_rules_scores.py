"""The scores against published values, and against scipy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inventory.errors import Refused
from inventory.forecasting.rules.counts import Count
from inventory.forecasting.rules.scores import (
    band,
    coverage,
    crps,
    log_score,
    pinball,
    pit,
    pit_histogram,
)
from tests.forecasting.examples import cases

CASES = (
    "pinball_sklearn",
    "fpp3_quantile_score",
    "crps_normal",
    "coverage_acceptance",
)


def poisson(mean):
    return Count(stats.poisson(mean).pmf(np.arange(int(mean) * 4 + 40)))


@pytest.mark.parametrize("case", cases("pinball_sklearn"))
def test_the_published_pinball_losses(case):
    happened = case["inputs"]["y"]
    found = [
        np.mean([pinball(f, y, share) for f, y in zip(row, happened, strict=True)])
        for share in case["inputs"]["alpha"]
        for row in case["inputs"]["pred"]
    ]
    assert found == pytest.approx(case["expected"], rel=1e-9)


@pytest.mark.parametrize("case", cases("fpp3_quantile_score"))
def test_the_textbooks_quantile_score_is_twice_the_loss(case):
    given_ = case["inputs"]
    found = 2 * pinball(given_["f"], given_["y"], given_["p"])
    assert found == pytest.approx(case["expected"], abs=0.005)


@pytest.mark.parametrize("case", cases("crps_normal"))
def test_the_normals_score_by_counting_in_fine_steps(case):
    # A normal from -9 to 9 in steps so fine that counting them is continuous.
    step = 4e-5
    edges = np.arange(-9 - step / 2, 9 + step, step)
    fine = Count(np.diff(stats.norm.cdf(edges)))
    for x, expected in zip(case["inputs"]["x"], case["expected"], strict=True):
        found = step * crps(fine, round((x + 9) / step))
        assert found == pytest.approx(expected, rel=2e-9)


@pytest.mark.parametrize("case", cases("coverage_acceptance"))
def test_the_band_of_misses(case):
    for of, limits in case["expected"].items():
        assert list(band(int(of))) == limits


@given(of=st.integers(1, 1500), rate=st.floats(0.01, 0.5))
def test_the_band_is_the_exact_binomials(of, rate):
    low, high = stats.binom(of, rate).ppf([0.025, 0.975])
    assert band(of, rate) == (low, high)


def test_too_many_misses_are_seen():
    good = coverage([5.0] * 100, [1.0] * 93 + [9.0] * 7)
    assert (good.misses, good.low, good.high, good.is_true) == (7, 1, 10, True)
    assert not coverage([5.0] * 100, [1.0] * 89 + [9.0] * 11).is_true


def test_the_transform_lies_inside_the_jump():
    forecast = poisson(3)
    assert pit(forecast, 0, 0.0) == 0
    assert pit(forecast, 3, 1.0) == pytest.approx(stats.poisson(3).cdf(3))
    assert pit(forecast, 4, 0.5) == pytest.approx(
        stats.poisson(3).cdf([3, 4]).mean(), rel=1e-9
    )


def _histogram(forecast, mean, number=2000):
    happened = np.random.default_rng(4).poisson(mean, number)
    return pit_histogram([forecast] * number, [int(y) for y in happened])


def test_the_histogram_is_flat_where_true_and_sloped_where_not():
    true = _histogram(poisson(6), 6)
    assert true.sum() == pytest.approx(1)
    assert true == pytest.approx(np.full(10, 0.1), abs=0.015)
    low = _histogram(poisson(4), 6)
    assert low[-1] > 0.2 > 0.05 > low[0]


def test_a_sure_forecast_and_one_far_off_fall_into_the_ends():
    sure = Count(np.ones(1))
    assert pit_histogram([sure], [0], 4) == pytest.approx([0.25] * 4)
    assert pit_histogram([sure], [7], 4) == pytest.approx([0, 0, 0, 1])
    with pytest.raises(Refused):
        pit_histogram([], [])


@pytest.mark.slow
def test_better_forecasts_score_better():
    rng = np.random.default_rng(5)
    happened = [int(y) for y in rng.poisson(6, 150)]
    for score, sign in ((crps, 1), (log_score, -1)):
        good = np.mean([sign * score(poisson(6), y) for y in happened])
        bad = np.mean([sign * score(poisson(9), y) for y in happened])
        assert good < bad


def test_crps_is_half_the_mean_gap_less_than_the_distance():
    # E|K - y| - E|K - K'| / 2, another formula for the same.
    forecast, y = poisson(5), 9
    k = np.arange(forecast.pmf.size)
    gaps = np.abs(k[:, None] - k[None, :])
    other = np.abs(k - y) @ forecast.pmf - forecast.pmf @ gaps @ forecast.pmf / 2
    assert crps(forecast, y) == pytest.approx(other, rel=1e-9)
    assert crps(Count(np.ones(1)), 4) == 4
    assert log_score(Count(np.ones(1)), 4) == -np.inf
