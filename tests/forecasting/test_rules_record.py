"""Telling bursts from ordinary spoilage: recovery, monotony, and truer bounds."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.forecasting.rules.record import Closed, learn, split
from inventory.forecasting.rules.scores import band
from inventory.forecasting.rules.use import Belief, Use

CASES = ()
ROWS = st.lists(st.builds(Closed, st.integers(0, 300), st.integers(0, 60)), max_size=12)


class World:
    """A shop that spoils a share of its tries and loses a burst now and then."""

    def __init__(self, seed, base, rate, size):
        self.rng = np.random.default_rng(seed)
        self.base, self.rate, self.size = base, rate, size

    def spoiled(self, need):
        bad = self.rng.negative_binomial(need, 1 - self.base)
        number = self.rng.poisson(need * self.rate)
        return int(bad + self.rng.geometric(1 / self.size, number).sum())

    def record(self, rows):
        needs = self.rng.integers(20, 200, rows)
        return [Closed(int(need), self.spoiled(int(need))) for need in needs]


@given(rows=ROWS, clean=st.lists(st.integers(0, 2000), min_size=1, max_size=5))
@settings(max_examples=40)
def test_clean_work_that_follows_never_raises_the_bursts_rate(rows, clean):
    before = learn(rows)
    after = learn([*rows, *(Closed(good, 0) for good in clean)])
    assert after.bursts.rate <= before.bursts.rate
    assert after.bursts.size == before.bursts.size
    assert after.bad / after.good <= before.bad / before.good


@given(rows=ROWS)
@settings(max_examples=40)
def test_every_spoiled_piece_is_counted_once(rows):
    found = learn(rows)
    base = found.bad - Belief().bad
    assert base + found.bursts.lost - 30 == pytest.approx(sum(r.bad for r in rows))
    assert found.good - Belief().good == pytest.approx(sum(r.good for r in rows))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("base", "rate", "size"),
    [(0.01, 1 / 2000, 15), (0.003, 1 / 1000, 25), (0.03, 1 / 1500, 40)],
)
def test_a_long_bursty_record_gives_back_what_made_it(base, rate, size):
    found = [learn(World(s, base, rate, size).record(200)) for s in range(8)]
    share = np.mean([each.bad / (each.good + each.bad) for each in found])
    lost = np.mean([each.bursts.rate * each.bursts.size for each in found])
    assert share == pytest.approx(base, rel=0.15)
    # Small bursts pass for ordinary work: what bursts cost is a little under.
    assert lost == pytest.approx(rate * size, rel=0.3)


@pytest.mark.slow
def test_bounds_hold_where_one_rate_alone_does_not():
    # Held-back stages of 300 simulated shops, drawn from the stated guesses.
    rng, bursty, plain, shops = np.random.default_rng(5), 0, 0, 300
    for seed in range(shops):
        world = World(seed, rng.beta(1.5, 98.5), rng.gamma(1, 1 / 2000), 15)
        record = world.record(25)
        good, bad = sum(r.good for r in record), sum(r.bad for r in record)
        one_rate = Belief(98.5 + good, 1.5 + bad, None)
        happened = world.spoiled(500)
        bursty += happened > Use(500, learn(record)).at(0.95)
        plain += happened > Use(500, one_rate).at(0.95)
    _, most = band(shops)
    assert bursty <= most < plain


def test_a_burst_is_told_from_ordinary_work():
    believed = Belief()
    assert split(Closed(100, 4), believed).burst == 0
    part = split(Closed(100, 40), believed)
    assert (part.ordinary, part.burst) == (2, 38)
    assert split(Closed(0, 5), believed).burst == 0


def test_who_believes_in_no_bursts_calls_everything_ordinary():
    found = learn([Closed(100, 40)], Belief(bursts=None))
    assert (found.bad, found.bursts) == (41.5, None)


def test_a_record_below_zero_is_refused():
    with pytest.raises(Refused) as refused:
        Closed(-1, 0)
    assert refused.value.code == "forecasting.record"
