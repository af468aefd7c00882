"""How many wear out: Tijms' table, closed forms, and an exact discrete example."""

from itertools import pairwise

import numpy as np
import pytest
from scipy import stats

from inventory.forecasting.rules.renewals import life_by_steps, worn_out
from tests.forecasting.examples import cases

CASES = (
    "renewal_tijms_c2_0.25",
    "renewal_erlang2",
    "renewal_uniform01",
    "drill_usage_discrete",
)
ONE = np.ones(1)
# Units so small that counting in whole ones is as good as continuous.
UNIT = 1e-8


def expected_by(time, life, steps=3000):
    """The renewal function m(t) of a continuous life."""
    width = time / steps / UNIT
    later = life_by_steps(lambda at: life.sf(at * UNIT), steps, width)[None, :]
    return worn_out(later, later, ONE, width).expected


@pytest.mark.slow
@pytest.mark.parametrize("case", cases("renewal_tijms_c2_0.25"))
def test_the_published_renewal_table(case):
    life = stats.weibull_min(case["inputs"]["shape"], scale=case["inputs"]["scale"])
    assert len(case["published"]) == 10
    for time, figure in case["published"].items():
        found = expected_by(float(time), life)
        assert found == pytest.approx(case["expected"][time], abs=2e-6)
        # One of the ten, .4141 at .8, is .41405 rounded twice.
        last = 10.0 ** -len(repr(figure).partition(".")[2])
        assert abs(found - figure) < 0.52 * last


@pytest.mark.parametrize("case", cases("renewal_erlang2"))
def test_the_closed_form_of_two_exponentials(case):
    for time, value in zip(case["inputs"]["t"], case["expected"], strict=True):
        assert expected_by(time, stats.gamma(2)) == pytest.approx(value, rel=1e-4)


@pytest.mark.parametrize("case", cases("renewal_uniform01"))
def test_the_closed_form_of_a_uniform_life(case):
    for time, value in zip(case["inputs"]["t"], case["expected"], strict=True):
        assert expected_by(time, stats.uniform()) == pytest.approx(value, rel=1e-4)


@pytest.mark.parametrize("case", cases("drill_usage_discrete"))
def test_bits_over_six_hundred_holes_in_whole_holes(case):
    age, holes, expected = (
        case["inputs"]["age"],
        case["inputs"]["holes"],
        case["expected"],
    )

    def alive(at):
        return np.exp(-((at / 250) ** 2))

    later = life_by_steps(alive, holes, 1)[None, :]
    rest = life_by_steps(lambda at: alive(at + age) / alive(age), holes, 1)[None, :]
    aged = worn_out(rest, later, ONE)
    assert aged.expected == pytest.approx(expected["m_aged"], rel=1e-9)
    assert worn_out(later, later, ONE).expected == pytest.approx(
        expected["m_new"], rel=1e-9
    )
    assert aged.pmf[:9] == pytest.approx(expected["P"], rel=1e-9)


def test_it_is_the_plain_convolution_where_that_is_short():
    rng = np.random.default_rng(4)
    later = rng.dirichlet(np.ones(12))[None, :]
    first = rng.dirichlet(np.ones(12))[None, :]
    found = worn_out(first, later, ONE)
    by_hand, reached = first[0], [1.0]
    for _ in range(6):
        reached.append(by_hand[:12].sum())
        by_hand = np.convolve(by_hand, later[0])[:12]
    steps = [a - b for a, b in pairwise(reached)]
    assert found.pmf[:6] == pytest.approx(steps, abs=1e-12)


def test_rows_are_mixed_by_their_weights():
    later = life_by_steps(
        lambda at: np.exp(-at[None, :] / np.array([[40.0], [90.0]])), 200, 1
    )
    both = worn_out(later, later, np.array([0.3, 0.7]))
    single = [worn_out(row[None, :], row[None, :], ONE).expected for row in later]
    assert both.expected == pytest.approx(0.3 * single[0] + 0.7 * single[1])
    # A life without memory, counted in whole holes: each hole fails alike.
    each = 1 - np.exp(-1 / 40)
    assert single[0] == pytest.approx(200 * each, rel=1e-9)


def test_wide_steps_keep_the_mean_life():
    def alive(at):
        return np.exp(-((at / 300) ** 2))

    fine = life_by_steps(alive, 3000, 1) @ np.arange(3001)
    wide = life_by_steps(alive, 120, 25) @ np.arange(0, 3001, 25)
    assert wide == pytest.approx(fine, rel=1e-3)
