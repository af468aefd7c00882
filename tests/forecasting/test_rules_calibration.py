"""Are the distributions true? Ranks and transforms of worlds drawn from the prior.

Source: Talts et al., Validating Bayesian Inference Algorithms with Simulation-Based
Calibration (2018). Seeds are fixed. Each check must also notice what is wrong.
"""

import numpy as np
import pytest
from scipy import stats

from inventory.forecasting.rules.bitlife import BitLife, Prior
from inventory.forecasting.rules.bursts import Bursts
from inventory.forecasting.rules.counts import Count
from inventory.forecasting.rules.scores import band, pit
from inventory.forecasting.rules.spoilage import Beta
from inventory.forecasting.rules.use import Belief, Use

CASES = ()
DRAWS, BINS, SURE = 99, 20, 1e-3
pytestmark = pytest.mark.slow


def rank(truth, drawn):
    """How many of the posterior's draws lie below the truth: 0 to 99, all alike."""
    assert len(drawn) == DRAWS
    return int((np.asarray(drawn) < truth).sum())


def doubt(ranks):
    """The chance of ranks so uneven, were they uniform: a chi-square on 20 bins."""
    counts = np.bincount(np.array(ranks) * BINS // (DRAWS + 1), minlength=BINS)
    return stats.chisquare(counts).pvalue


def doubt_of_pit(values):
    return stats.chisquare(np.histogram(values, BINS, (0, 1))[0]).pvalue


@pytest.fixture(scope="module")
def spoiling():
    """Worlds of ordinary spoilage: the true chance, and the record of 400 good ones."""
    rng = np.random.default_rng(21)
    good = rng.beta(98.5, 1.5, 1500)
    return good, rng.negative_binomial(400, good), rng


def test_ranks_of_the_chance_of_a_good_one(spoiling):
    good, bad, rng = spoiling
    true, sure = [], []
    for chance, spoiled in zip(good, bad, strict=True):
        seen = Beta().seen(400, int(spoiled))
        true.append(rank(chance, rng.beta(seen.good, seen.bad, DRAWS)))
        # A belief that counts its record twice is too sure of itself.
        twice = seen.seen(400, int(spoiled))
        sure.append(rank(chance, rng.beta(twice.good, twice.bad, DRAWS)))
    assert doubt(true) > SURE
    assert doubt(sure) < SURE


def test_the_use_of_the_next_stage_after_a_record(spoiling):
    good, bad, rng = spoiling
    true, plugged, misses = [], [], 0
    for chance, spoiled in zip(good[:600], bad[:600], strict=True):
        seen = Beta().seen(400, int(spoiled))
        happened = int(rng.negative_binomial(800, chance))
        use = Use(800, Belief(seen.good, seen.bad, None))
        share = rng.uniform()
        true.append(pit(use.chances, happened, share))
        rate = Count(stats.nbinom(800, 1 - seen.rate).pmf(np.arange(600)))
        plugged.append(pit(rate, happened, share))
        misses += happened > use.at(0.95)
    assert doubt_of_pit(true) > SURE
    # The plain rate put in for the chance is too narrow.
    assert doubt_of_pit(plugged) < SURE
    assert misses <= band(600)[1]


def test_ranks_of_the_bursts_rate_and_what_bursts_cost_next():
    rng = np.random.default_rng(22)
    ranks, values, poisson = [], [], []
    for rate in rng.gamma(1.0, 1 / 2000, 600):
        sizes = [int(s) for s in rng.geometric(1 / 15, rng.poisson(3000 * rate))]
        # The size known, so that only the rate is learnt.
        seen = Bursts(1, 2000, 2e6, 3e7).after(3000, sizes)
        ranks.append(rank(rate, rng.gamma(seen.seen, 1 / seen.pieces, DRAWS)))
        happened = int(rng.geometric(1 / 15, rng.poisson(8000 * rate)).sum())
        share = rng.uniform()
        values.append(pit(seen.lost_over(8000), happened, share))
        # A rate taken for certain: much evidence at the same mean.
        certain = Bursts(seen.rate * 1e7, 1e7, 2e6, 3e7)
        poisson.append(pit(certain.lost_over(8000), happened, share))
    assert doubt(ranks) > SURE
    assert doubt_of_pit(values) > SURE
    assert doubt_of_pit(poisson) < SURE


def test_an_unknown_size_still_covers():
    # Rate and size both from the guess: the mean size is put in for the size.
    rng, misses, worlds = np.random.default_rng(23), 0, 1000
    for _ in range(worlds):
        rate, each = rng.gamma(1.0, 1 / 2000), rng.beta(3, 28)
        sizes = rng.geometric(each, rng.poisson(3000 * rate))
        seen = Bursts().after(3000, [int(size) for size in sizes])
        happened = rng.geometric(each, rng.poisson(2000 * rate)).sum()
        misses += happened > seen.lost_over(2000).at(0.95)
    assert misses <= band(worlds)[1]


def _bits(rng, number=6):
    """A world of bits drawn from the prior: shape, rate, and a record of a few bits."""
    shape = 2 * np.exp(0.3 * rng.normal())
    rate = rng.gamma(2.0, 1 / (1 / (2**0.5 - 1)))
    ends = (rng.exponential(size=number) / rate) ** (1 / shape) * 300
    seen = rng.uniform(50, 600, number)
    worn = tuple(float(e) for e, s in zip(ends, seen, strict=True) if e <= s)
    in_use = tuple(float(s) for e, s in zip(ends, seen, strict=True) if e > s)
    return shape, rate, BitLife(worn, in_use)


def test_ranks_of_the_bits_shape_and_median_life():
    rng = np.random.default_rng(24)
    shapes, medians = [], []
    for _ in range(1200):
        shape, rate, life = _bits(rng)
        at = life.posterior
        rows = rng.choice(at.shapes.size, DRAWS, p=at.weights)
        # Between the grid's nodes, so that no rank ties.
        nudge = np.exp(rng.uniform(-0.5, 0.5, DRAWS) * 0.3 * 10 / 400)
        rates = rng.gamma(at.events, 1 / at.exposure[rows])
        shapes.append(rank(shape, at.shapes[rows] * nudge))
        drawn = (np.log(2) / rates) ** (1 / at.shapes[rows])
        medians.append(rank((np.log(2) / rate) ** (1 / shape), drawn))
    assert doubt(shapes) > SURE
    assert doubt(medians) > SURE


def test_bits_for_a_job_after_a_record():
    rng, true, certain = np.random.default_rng(25), [], []
    for _ in range(70):
        shape, rate, life = _bits(rng, 2)
        happened, end = 0, 0.0
        while True:
            end += np.ceil((rng.exponential() / rate) ** (1 / shape) * 300)
            if end > 3000:
                break
            happened += 1
        share, found = rng.uniform(), life.bits_for(3000, 0.0)
        true.append(pit(found, happened, share))
        certain.append(pit(_certain(life).bits_for(3000, 0.0), happened, share))
    assert stats.kstest(true, "uniform").pvalue > SURE
    # One life put in for all that it may be is too narrow.
    assert stats.kstest(certain, "uniform").pvalue < SURE


def _certain(life):
    """The same record, as if shape and median life were known."""
    at = life.posterior
    shape = float(at.weights @ at.shapes)
    near = int(np.abs(at.shapes - shape).argmin())
    median = (np.log(2) * float(at.exposure[near]) / at.events) ** (1 / shape) * at.unit
    return BitLife(prior=Prior(float(median), 1e5, shape, 1e-6))
