"""Bursts: three ways to the same chances, and what is refused."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.forecasting.rules.bursts import Bursts

CASES = ()
BELIEFS = [
    (1, Bursts()),
    (500, Bursts()),
    (5000, Bursts()),
    (300, Bursts(7.5, 9000, 8.5, 300)),
    (2000, Bursts(1, 500, 2, 2)),
    (800, Bursts(12, 6000, 13, 700)),
]


def panjer(need, belief, size):
    """The general recursion for negative-binomial numbers of any sizes."""
    t, p, r = need / (belief.pieces + need), 1 / belief.size, belief.seen
    sizes = np.concatenate(([0.0], p * (1 - p) ** np.arange(size - 1)))
    found = np.zeros(size)
    found[0] = (1 - t) ** r
    for k in range(1, size):
        j = np.arange(1, k + 1)
        found[k] = ((t + (r - 1) * t * j / k) * sizes[1 : k + 1]) @ found[k - j]
    return found


def transformed(need, belief, size):
    """The generating function inverted on a circle, its terms damped against wrap."""
    around = 8 * size
    damp = 1e-13 ** (1 / around)
    z = damp * np.exp(-2j * np.pi * np.arange(around) / around)
    t, p = need / (belief.pieces + need), 1 / belief.size
    of_size = p * z / (1 - (1 - p) * z)
    values = ((1 - t) / (1 - t * of_size)) ** belief.seen
    return np.fft.ifft(values).real[:size] / damp ** np.arange(size)


@pytest.mark.parametrize(("need", "belief"), BELIEFS)
def test_the_recursion_of_panjer_and_the_transform_give_the_same(need, belief):
    found = belief.lost_over(need).pmf
    size = min(found.size, 600)
    by_panjer, by_transform = (
        panjer(need, belief, size),
        transformed(need, belief, size),
    )
    assert by_panjer == pytest.approx(by_transform, abs=1e-11)
    assert found[:size] == pytest.approx(by_panjer, rel=1e-9, abs=1e-15)


@pytest.mark.parametrize(("need", "belief"), BELIEFS)
def test_the_moments_are_those_of_the_chances(need, belief):
    found = belief.lost_over(need)
    assert found.expected == pytest.approx(belief.expected(need), rel=1e-5, abs=1e-6)
    assert found.sd**2 == pytest.approx(belief.variance(need), rel=1e-4, abs=1e-4)


@given(
    need=st.integers(1, 6000),
    seen=st.floats(0.5, 40),
    pieces=st.floats(200, 60_000),
    size=st.floats(1, 80),
)
@settings(max_examples=25)
def test_chances_are_chances(need, seen, pieces, size):
    found = Bursts(seen, pieces, 2, 2 * size).lost_over(need)
    assert (found.pmf >= 0).all()
    # What is cut off is a billionth at most, less the rounding of a long sum.
    assert 1 - 1e-9 - 1e-12 <= found.pmf.sum() <= 1 + 1e-9


def test_the_prior_is_one_burst_of_fifteen_in_two_thousand():
    prior = Bursts()
    assert (prior.rate, prior.size) == (1 / 2000, 15)
    assert prior.expected(2000) == 15
    assert prior.lost_over(0).at(0.999) == 0


def test_the_record_moves_rate_and_size():
    seen = Bursts().after(6000, [40, 20])
    assert (seen.rate, seen.size) == (3 / 8000, 22.5)
    assert Bursts().after(6000, []).rate == 1 / 8000


def test_a_known_rate_makes_the_number_poisson():
    # Much evidence at one rate: P(none) is exp(-rate n).
    known = Bursts(1e6, 1e9, 2, 30)
    assert known.lost_over(1000).pmf[0] == pytest.approx(np.exp(-1), rel=1e-5)


@pytest.mark.parametrize("given_", [(0, 1, 1, 1), (1, 0, 1, 1), (1, 1, 2, 1)])
def test_counts_that_cannot_be_are_refused(given_):
    with pytest.raises(Refused) as refused:
        Bursts(*given_)
    assert refused.value.code == "forecasting.bursts"


@pytest.mark.parametrize(("need", "belief"), BELIEFS)
@pytest.mark.parametrize("most", [1, 12, 60])
def test_no_burst_outlasts_its_assembly(need, belief, most):
    """Panjer's recursion of a compound negative binomial, with sizes cut at `most`."""
    found = belief.lost_over(need, most)
    t = need / (belief.pieces + need)
    sizes = belief.sizes(most)
    assert sizes.sum() == pytest.approx(1)
    length = min(found.pmf.size, 300)
    slow = np.zeros(length)
    slow[0] = (1 - t) ** belief.seen
    for k in range(1, length):
        j = np.arange(1, min(k, most) + 1)
        weights = (t + (belief.seen - 1) * t * j / k) * sizes[j]
        slow[k] = weights @ slow[k - j]
    assert found.pmf[:length] == pytest.approx(slow, abs=1e-9)
    assert found.expected == pytest.approx(belief.expected(need, most), rel=1e-4)
    assert found.sd**2 == pytest.approx(belief.variance(need, most), rel=1e-3)


def test_a_large_assembly_cuts_nothing():
    belief = Bursts(3, 4000, 4, 100)
    whole, cut_far = belief.lost_over(900), belief.lost_over(900, 3000)
    length = min(whole.pmf.size, cut_far.pmf.size)
    assert cut_far.pmf[:length] == pytest.approx(whole.pmf[:length], abs=1e-9)
    assert belief.expected(900, 3000) == pytest.approx(belief.expected(900))
    assert belief.lost_over(900, 0).at(0.999) == 0
