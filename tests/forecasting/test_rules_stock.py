"""Stock with its doubt: deficits against direct sums and simulation, and recounting."""

import random
from datetime import date, timedelta
from math import exp

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.forecasting.rules.spoilage import Beta, chance_enough, spoiled_at
from inventory.forecasting.rules.stock import (
    Arrival,
    Stock,
    chance_here,
    deficit,
    shortest_list,
    worth_of_counting,
    worth_of_looking,
)
from inventory.forecasting.rules.use import Belief, Use
from inventory.ledger.rules import ABOUT_SHARE
from inventory.ordering.rules.leads import Late

PLAIN = Belief(98.0, 2.0, None)
STOCKS = st.builds(
    Stock,
    st.integers(0, 400),
    st.floats(0, 30),
    st.lists(st.builds(Arrival, st.integers(1, 300), st.floats(0, 1)), max_size=2).map(
        tuple
    ),
)
USES = st.builds(Use, st.integers(0, 300), st.just(Belief()))


# A worked example of our own (closed form and 400,000-run simulation): stock 140, stages of
# 40, 60, 30, Beta(98, 2): chance short by the end 0.0135854173, 138 for 95 %.
def test_the_shortage_profile_of_a_certain_count():
    through = Use(130, PLAIN)
    found = deficit(through, Stock(140))
    assert found.chance_short == pytest.approx(0.0135854173, abs=1e-9)
    assert deficit(through, Stock(0)).to_buy(0.05) == 138
    assert deficit(Use(40, PLAIN), Stock(0)).to_buy(0.05) == 43


@given(st.integers(1, 300), st.integers(0, 60))
def test_without_doubt_it_is_the_exact_rule(need, spare):
    found = deficit(Use(need, PLAIN), Stock(need + spare))
    exact = 1 - chance_enough(need, spare, Beta(98.0, 2.0))
    assert found.chance_short == pytest.approx(exact, abs=1e-9)
    assert found.to_buy(0.05) == max(0, spoiled_at(0.95, need, Beta(98.0, 2.0)) - spare)


@given(USES, STOCKS)
def test_what_is_bought_is_enough_and_one_less_is_not(use, stock):
    found = deficit(use, stock)
    buy = found.to_buy(0.05)
    assert found.over(buy) <= 0.05 + 1e-9
    if buy:
        assert found.over(buy - 1) > 0.05 - 1e-9
    assert 0 <= found.chance_short <= 1
    assert found.pmf.sum() == pytest.approx(1.0, abs=1e-6)


@given(USES, STOCKS, st.integers(1, 50))
def test_more_stock_never_raises_the_chance_to_run_out(use, stock, more):
    richer = Stock(stock.on_hand + more, stock.doubt, stock.arrivals)
    assert deficit(use, richer).chance_short <= deficit(use, stock).chance_short + 1e-9


@given(STOCKS)
def test_a_balance_is_never_under_nought_and_its_chances_are_whole(stock):
    low, pmf = stock.chances()
    assert low >= 0
    assert pmf.sum() == pytest.approx(1.0)


def test_the_deficit_agrees_with_simulation():
    rng = np.random.default_rng(11)
    stock, use = Stock(150, 12.0, (Arrival(50, 0.7),)), Use(160, Belief())
    runs = 200_000
    here = np.maximum(0, np.rint(rng.normal(150, 12.0, runs)))
    here += 50 * (rng.random(runs) < 0.7)
    asked = 160 + rng.choice(use.chances.pmf.size, size=runs, p=_whole(use))
    simulated = (asked > here).mean()
    assert deficit(use, stock).chance_short == pytest.approx(simulated, abs=0.005)


def _whole(use):
    return use.chances.pmf / use.chances.pmf.sum()


def test_a_parcel_is_here_never_early_and_the_surer_the_longer():
    day = date(2027, 3, 1)
    later = [chance_here(day, day + timedelta(days=n)) for n in range(-1, 40)]
    assert later[0] == 0.0
    assert later[1:] == sorted(later[1:])
    assert later[1] == pytest.approx(0.9)


@given(USES, STOCKS, st.floats(0.001, 0.2))
@settings(max_examples=60)
def test_a_recount_is_worth_something_only_where_it_could_change_the_decision(
    use, stock, share
):
    worth = worth_of_counting(use, stock, share)
    assert -1e-12 <= worth <= share + 1e-12
    sure = Stock(stock.on_hand)
    assert worth_of_counting(use, sure, share) == pytest.approx(0.0, abs=1e-12)


def test_the_bin_on_the_edge_is_counted_first_and_the_full_one_never():
    use, share = Use(100, PLAIN), 0.05
    edge, full, bare = Stock(106, 6.0), Stock(900, 6.0), Stock(20, 6.0)
    worths = [worth_of_counting(use, each, share) for each in (edge, full, bare)]
    assert worths[0] > 0.005
    assert worths[1:] == [pytest.approx(0.0, abs=1e-9)] * 2
    assert shortest_list(worths) == 1
    assert shortest_list([0.0, 0.0]) == 0
    assert shortest_list([1.0, 1.0, 1.0]) == 3


@pytest.mark.parametrize(("held", "doubt"), [(118, 14.0), (106, 9.0), (160, 40.0)])
def test_a_look_is_worth_what_drawn_bins_say(held, doubt):
    """Bins are drawn, and what somebody sees in them; one decides by what was seen."""
    use, share, stock = Use(100, PLAIN), 0.05, Stock(held, doubt)
    rng = np.random.default_rng(6)
    low, chances = stock.chances()
    here = low + rng.choice(chances.size, size=600_000, p=chances / chances.sum())
    spares = np.clip(here - 100, 0, use.chances.cdf.size - 1)
    short = np.where(here < 100, 1.0, 1 - use.chances.cdf[spares])
    seen = np.argsort(rng.normal(here, np.maximum(1.0, ABOUT_SHARE * here)))
    told = np.array([part.mean() for part in np.array_split(short[seen], 300)])
    drawn = min(short.mean(), share) - np.minimum(told, share).mean()
    looking = worth_of_looking(use, stock, share)
    assert looking == pytest.approx(drawn, abs=0.0006)
    assert 0 < looking < worth_of_counting(use, stock, share)


@pytest.mark.parametrize(("held", "doubt"), [(140, 6.0), (30, 4.0), (5, 0.0)])
def test_a_job_from_the_wrong_tin_is_rare_large_and_one_sided(held, doubt):
    """A Poisson number of jobs is drawn, each of any size up to a hundred."""
    rng = np.random.default_rng(5)
    here = np.round(rng.normal(held, doubt, 400_000))
    jobs = rng.poisson(0.06, here.size) > 0
    here = np.maximum(0, here - jobs * rng.integers(1, 101, here.size))
    low, chances = Stock(held, doubt, jobs_gone=0.06).chances()
    assert chances.sum() == pytest.approx(1.0)
    for pieces in range(0, held + 20, 5):
        said = chances[: max(0, pieces - low)].sum()
        assert said == pytest.approx((here < pieces).mean(), abs=0.003)
    assert Stock(held, doubt).chances()[1].size < chances.size or low == 0


def test_a_million_on_the_way_are_looked_at_as_quickly():
    """Many numbers are as likely: what a look at them is worth wants no table of them."""
    stock = Stock(300, 60.0, (Arrival(1_000_000, 0.5),))
    assert worth_of_looking(Use(320, PLAIN), stock, 0.01) > 0.001


def test_a_guessed_day_spreads_the_chance_that_a_parcel_is_here():
    day = date(2027, 3, 1)
    sure = chance_here(day, day + timedelta(days=10))
    spread = chance_here(day, day + timedelta(days=10), give_or_take=30)
    assert 0.5 < spread < sure
    # By chance the day is as likely before as after the parcel: half of what comes on
    # the day, and some of the late ones.
    even = chance_here(day, day, Late(0.0, 1.0), give_or_take=30)
    assert even == pytest.approx(0.5, abs=0.03)
    # Checked against numbers drawn with the standard library: nothing of our own.
    chance = random.Random(1)
    drawn = [chance.gauss(10, 30 / 1.96) for _each in range(20_000)]
    here = sum(1 - 0.1 * exp(-slack / 10) for slack in drawn if slack >= 0)
    assert spread == pytest.approx(here / len(drawn), abs=0.02)


def test_what_is_often_late_is_trusted_less():
    day = date(2027, 3, 1)
    soon = day + timedelta(days=3)
    assert chance_here(day, soon, Late(0.5, 20.0)) < chance_here(day, soon)
