"""Bit life: published Weibull estimates, the handbook prior, and simulation.

The plain maximum-likelihood estimate is not in the rules, for nothing uses it; with a
prior worth nothing the rules' own likelihood must peak at it.
"""

from math import gamma, log, sqrt

import numpy as np
import pytest
from scipy import optimize, stats

from inventory.errors import Refused
from inventory.forecasting.rules.bitlife import BitLife, Prior, lives, log_evidence
from tests.forecasting.examples import cases

WEIBULLS = (
    "weibull_nist_apr413",
    "weibull_bearing_cage",
    "weibull_lz_bearing",
    "weibull_abernethy_c5",
    "weibull_gross_clark_relief",
    "weibull_reliawiki_complete6",
)
CASES = (*WEIBULLS, "drill_handbook_prior")


def estimate(worn, in_use):
    """Shape, scale and log-likelihood where the rules' likelihood peaks."""
    median = float(np.median(worn))
    life = BitLife(tuple(worn), tuple(in_use), Prior(median, 0.0))
    best = optimize.minimize_scalar(
        lambda shape: -log_evidence(life, np.array([shape]))[0],
        bracket=(1.0, 2.0, 6.0),
        tol=1e-12,
    )
    here = BitLife(life.worn, life.in_use, Prior(median, 0.0, best.x, 1e-12)).posterior
    scale = median * float(here.exposure[0] / here.events) ** (1 / best.x)
    r = len(worn)
    return best.x, scale, -best.fun + r * log(r) - r - r * log(median)


@pytest.mark.parametrize("case", cases(*WEIBULLS))
def test_with_no_prior_it_peaks_at_the_published_estimate(case):
    worn, in_use = case["inputs"]["failures"], case["inputs"]["right_censored"]
    shape, scale, likelihood = estimate(worn, in_use)
    mean = scale * gamma(1 + 1 / shape)
    found = {
        "shape": shape,
        "scale": scale,
        "loglik": likelihood,
        "mu": log(scale),
        "sigma": 1 / shape,
        "mean": mean,
        "sd": sqrt(scale**2 * gamma(1 + 2 / shape) - mean**2),
        "aic": 4 - 2 * likelihood,
        "beta_nag": -shape * log(scale),
    }
    for name, value in case["expected"].items():
        assert found[name] == pytest.approx(value, rel=1e-6), name
    for name, figure in case["published"].items():
        assert found[name] == pytest.approx(figure, rel=1e-3), name


@pytest.mark.parametrize("case", cases(*WEIBULLS[:1], *WEIBULLS[2:]))
def test_scipys_fit_is_the_same(case):
    worn, in_use = case["inputs"]["failures"], case["inputs"]["right_censored"]
    data = stats.CensoredData(uncensored=worn, right=in_use)
    shape, _, scale = stats.weibull_min.fit(data, floc=0)
    assert estimate(worn, in_use)[:2] == pytest.approx((shape, scale), rel=1e-4)


@pytest.mark.parametrize("case", cases("drill_handbook_prior"))
def test_the_handbook_prior_and_what_four_bits_make_of_it(case):
    given = case["inputs"]
    prior = Prior(median=given["t50"], worth=given["a0"])
    before = BitLife(prior=prior)
    life = BitLife(tuple(given["failures"]), tuple(given["in_use"]), prior)
    at, expected = life.posterior, case["expected"]
    found = {
        "mean_beta": float(at.weights @ at.shapes),
        "S100": life.chance_lasts(0, 100),
        "S300": life.chance_lasts(0, 300),
        "S_next50_at95": life.chance_lasts(95, 50),
        "S_next50_at310": life.chance_lasts(310, 50),
    }
    # To the seven digits printed, though the tolerance would allow four.
    assert found == pytest.approx(expected["post"], rel=1e-7)
    assert before.chance_lasts(0, 100) == pytest.approx(expected["prior"]["S100"])
    assert before.chance_lasts(0, 300) == pytest.approx(0.5, abs=1e-12)


LIVES = [BitLife(), BitLife((180, 420), (95, 310)), BitLife((50, 70, 66, 90, 48))]


@pytest.mark.slow
@pytest.mark.parametrize("life", LIVES)
@pytest.mark.parametrize(("holes", "age"), [(150, 40.0), (900, 0.0), (2500, 120.0)])
def test_bits_for_a_job_against_a_simulation(life, holes, age):
    rng, runs = np.random.default_rng(8), 40_000
    at = life.posterior
    row = rng.choice(at.shapes.size, runs, p=at.weights)
    shape = at.shapes[row]
    rate = rng.gamma(at.events, 1 / at.exposure[row])
    # The fitted bit has reached its age: what is left of it, then new ones.
    reached = (age / at.unit) ** shape
    end = ((rng.exponential(size=runs) / rate + reached) ** (1 / shape)) * at.unit - age
    bits = np.zeros(runs, dtype=int)
    while (end <= holes).any():
        bits += end <= holes
        life_of_next = (rng.exponential(size=runs) / rate) ** (1 / shape) * at.unit
        end = np.where(end <= holes, end + np.ceil(life_of_next), end)
    found = life.bits_for(holes, age)
    assert found.expected == pytest.approx(bits.mean(), rel=0.03, abs=0.01)
    for k in (0, 1, 3, 8, 20):
        assert found.within(k) == pytest.approx((bits <= k).mean(), abs=0.012)


@pytest.mark.slow
def test_bits_that_share_one_unknown_life_ask_for_more_than_bits_apart():
    # Sure of the life: the spread is the bits' own. Unsure: all may be short-lived.
    sure = BitLife(prior=Prior(median=300, worth=500, spread=0.001))
    unsure = BitLife()
    assert sure.bits_for(4000, 0).sd < 2 < unsure.bits_for(4000, 0).sd
    assert sure.bits_for(4000, 0).at(0.95) < unsure.bits_for(4000, 0).at(0.95)


def test_with_no_bit_fitted_the_first_counts_too():
    fresh, fitted = BitLife().bits_for(200), BitLife().bits_for(200, 0.0)
    assert fresh.expected == pytest.approx(fitted.expected + 1)
    assert fresh.at(0.001) == 1
    assert BitLife().bits_for(0).at(0.99) == 0


def test_older_bits_and_worse_records_last_less():
    life = BitLife((180, 420), (95, 310))
    chances = [life.chance_lasts(age, 50) for age in (0, 95, 310, 600)]
    assert chances == sorted(chances, reverse=True)
    poor = BitLife((40, 60, 55))
    assert poor.chance_lasts(0, 100) < BitLife().chance_lasts(0, 100)
    lasting = BitLife((), (500, 600))
    assert lasting.chance_lasts(0, 100) > BitLife().chance_lasts(0, 100)


@pytest.mark.parametrize(
    ("events", "now", "expected"),
    [
        ([("fitted", 0)], 120, ((), (120,))),
        ([("fitted", 0), ("dull", 210)], 0, ((210,), ())),
        (
            [("dull", 210), ("resharpened", 210), ("fitted", 0), ("broken", 90)],
            0,
            ((210, 90), ()),
        ),
        ([("resharpened", 150), ("fitted", 0)], 30, ((150,), (30,))),
        ([("fitted", 0), ("set_aside", 40), ("fitted", 40)], 55, ((), (55,))),
        ([("dull", 0), ("resharpened", 0)], 0, ((), ())),
    ],
)
def test_every_sharpening_begins_a_life_of_its_own(events, now, expected):
    assert lives(events, now) == expected


@pytest.mark.parametrize(("worn", "in_use"), [((0.0,), ()), ((), (-1.0,))])
def test_holes_that_cannot_be_are_refused(worn, in_use):
    with pytest.raises(Refused) as refused:
        BitLife(worn, in_use)
    assert refused.value.code == "forecasting.bits"
