"""The forecast's buying: what it may see, what it learns, and whether it is true."""

from types import SimpleNamespace

import numpy as np
import pytest

from inventory.forecasting.rules.counts import Count
from inventory.forecasting.rules.scores import band
from inventory.forecasting.rules.stock import Deficit, Stock
from inventory.rehearsal.judging import SHARES, calibration, judged
from inventory.rehearsal.policy.bins import BinLog, Mistaken
from inventory.rehearsal.policy.forecasting import Care, Forecast, Said
from inventory.rehearsal.policy.habits import PlanPlusTenth
from inventory.rehearsal.policy.learning import Learning
from inventory.rehearsal.policy.reckoning import Risk, Wish, cost, worthwhile
from inventory.rehearsal.seen.plan import Part
from inventory.rehearsal.seen.prices import cheaper, cheapest
from inventory.rehearsal.seen.shop import Entry
from inventory.rehearsal.trials import Fare
from inventory.rehearsal.world import builds
from tests.rehearsal.rehearsed import Blindfolded, small


@pytest.mark.slow
@pytest.mark.parametrize("way", [PlanPlusTenth, Forecast])
@pytest.mark.parametrize("seed", range(2))
def test_no_policy_sees_the_truth_without_counting(way, seed):
    flown, work = small(seed)
    seen = builds.build(flown, work, way(), np.random.default_rng(seed))
    policy = Blindfolded(way())
    blind = builds.build(flown, work, policy, np.random.default_rng(seed))
    assert Fare.of(blind) == Fare.of(seen)


def test_the_blindfold_hides_the_bins():
    flown, _work = small(1)
    policy = Blindfolded(SimpleNamespace(name="peeks", begin=lambda shop: shop.here))
    with pytest.raises(AssertionError, match="looked at here"):
        policy.begin(builds.SimulatedShop(flown, np.random.default_rng(1)))


@pytest.mark.slow
def test_more_careful_buying_costs_more_and_stops_no_more():
    found = {}
    for stop in (20.0, 2000.0):
        shops = []
        for seed in range(3):
            flown, work = small(seed)
            policy = Forecast(Care(stop=stop))
            shops.append(builds.build(flown, work, policy, np.random.default_rng(seed)))
        found[stop] = (
            sum(len(each.stopped) for each in shops),
            sum(each.money for each in shops),
        )
    assert found[2000.0][0] <= found[20.0][0]
    assert found[2000.0][1] > found[20.0][1]


def test_a_burst_is_the_shops_and_ordinary_work_its_class_s():
    known = Learning()
    before = known.belief("3/32 flush")
    known.closed("3/32 flush", 400, 2)
    calm = known.belief("3/32 flush")
    assert calm.bad / calm.good < before.bad / before.good
    known.closed("3/32 flush", 100, 40)
    hit = known.belief("3/32 flush")
    assert known.bursts.seen == before.bursts.seen + 1
    assert hit.bad - calm.bad < 5
    assert known.belief("1/8 universal").bursts == hit.bursts


def test_a_class_without_a_record_borrows_from_the_others():
    known = Learning()
    for name in ("a", "b", "c"):
        known.closed(name, 2000, 4)
    guess = known.belief("new")
    known.pool()
    borrowed = known.belief("new")
    own = known.belief("a")
    assert own.bad / own.good < borrowed.bad / borrowed.good < guess.bad / guess.good


def bins_of(flown):
    return builds.SimulatedShop(flown, np.random.default_rng(6)), BinLog(
        flown.parts, 60.0
    )


def test_a_count_ends_the_doubt_and_pulls_bring_it_back():
    flown, _work = small(6)
    shop, bins = bins_of(flown)
    shop.here[0] = shop.recorded[0] = 30
    assert bins.stock(shop, 0).doubt == 0
    bins.pulled(0, 400)
    assert bins.stock(shop, 0).doubt == pytest.approx(20, abs=0.1)  # one a piece
    bins.count(shop, 0)
    assert bins.stock(shop, 0).doubt == pytest.approx(0.1)  # 0.3 % of 30
    assert shop.counted == 1


def test_a_neighbours_pulls_may_have_been_from_this_bin():
    flown, _work = small(6)
    shop, bins = bins_of(flown)
    at = next(n for n, part in enumerate(flown.parts) if part.neighbour is not None)
    beside = flown.parts[at].neighbour
    shop.recorded[beside] = 200
    sure = bins.stock(shop, beside)
    for _ in range(10):
        bins.pulled(at, 60)
    low, chances = bins.stock(shop, beside).chances()
    assert sure.chances()[1].tolist() == [1.0]
    # Half of ten pulls, one in fifty of them: exp(-0.1) that none was mistaken.
    assert chances[200 - low] == pytest.approx(np.exp(-0.1), abs=1e-4)
    assert chances[155 - low] == pytest.approx(0.1 * np.exp(-0.1), abs=1e-4)


@pytest.mark.parametrize("here", [0, 20, 100, 300])
def test_chances_of_a_mistaken_stock_are_chances(here):
    low, chances = Mistaken(here, 3.0, (), 0.7).chances()
    _least, plain = Stock(here, 3.0).chances()
    assert low >= 0
    assert chances.sum() == pytest.approx(1.0)
    mean = float((low + np.arange(chances.size)) @ chances)
    assert mean <= float((_least + np.arange(plain.size)) @ plain)
    if here == 300:  # at most five handfuls are reckoned with
        assert mean == pytest.approx(300 - 45 * 0.7, abs=0.1)


def test_what_is_on_the_way_is_what_was_ordered():
    flown, _work = small(7)
    shop, bins = bins_of(flown)
    seller = cheaper(tuple(flown.parts), {0: 70})[0]
    bins.order(shop, {0: 70}, seller)
    ordered = sum(cheapest(seller, flown.parts[0], 70).bags)
    assert [each.pieces for each in bins.stock(shop, 0).arrivals] == [ordered]
    shop.day = 60
    shop.receive()
    bins.put_away(shop)
    assert not bins.stock(shop, 0).arrivals
    assert bins.stock(shop, 0).doubt == pytest.approx(0.012 * ordered, abs=0.06)


def begun(seed=11):
    """A policy that has ordered the whole plan, and its shop."""
    flown, _work = small(seed)
    policy, shop = Forecast(), builds.SimulatedShop(flown, np.random.default_rng(seed))
    policy.begin(shop)
    return policy, shop


def test_work_at_hand_does_not_wait_for_a_late_parcel():
    policy, shop = begun()
    first = shop.aircraft.stages[0][0]
    shop.day = 8
    assert policy.bins.late(shop).max() == -1
    policy._bridge(shop)
    assert shop.day not in [each.day for each in policy.bins.due]
    shop.day = 14
    assert policy.bins.late(shop)[first.part] == 0
    policy._bridge(shop)
    again = policy.bins.due[-1]
    assert (again.day, again.pieces[first.part] >= first.need) == (14, True)
    parcels = shop.parcels
    policy._bridge(shop)
    assert shop.parcels == parcels


def test_months_away_do_not_slow_the_shops_pace():
    policy, shop = begun()
    shop.recorded[:] = shop.here[:] = 1000
    policy.left[:, 0] = 2000
    for stage, away in ((0, 400), (1, 0)):
        policy.stage_begins(shop, stage)
        for _ in range(30):
            policy.worked(shop, stage, Entry(0, 40, 40))
            shop.day += 2
        shop.day += away
    # 29 gaps of two days between thirty jobs, twice; the guess is worth ten days.
    assert policy.pieces == 2 * 29 * 40
    assert policy.days == 2 * 29 * 2
    assert policy._shops_pace() == pytest.approx((160 + 2320) / (10 + 116))


def test_a_pull_that_was_forgotten_is_counted():
    policy, shop = begun()
    shop.here[0], shop.recorded[0] = 60, 100
    policy.worked(shop, 0, Entry(0, 40, 0))
    assert (shop.counted, shop.recorded[0]) == (1, 60)
    policy.worked(shop, 0, Entry(0, 40, 40))
    assert shop.counted == 1


def test_no_more_than_four_bins_are_counted_at_once():
    policy, shop = begun()
    shop.coming.clear()
    policy.bins.put_away(shop)
    shop.recorded[:] = shop.here[:] = 60
    for part in range(len(shop.aircraft.parts)):
        policy.bins.pulled(part, 900)
    danger = policy._in_danger(shop)
    assert len(danger) > 4
    policy._recount(shop, danger)
    assert 1 <= shop.counted <= 4


def even(pieces):
    """A deficit of 0 to pieces - 1, all as likely."""
    pmf = np.full(pieces, 1 / pieces)
    return Deficit(0, pmf, np.cumsum(pmf))


@pytest.mark.parametrize("money", [0.5, 5.0, 50.0, 500.0])
def test_what_is_worthwhile_is_no_dearer_than_any_quantity(money):
    part, risk = Part("a", "a", 0.3), Risk(even(200), money)
    wish = Wish([risk])
    found = worthwhile(part, wish)
    shares = [risk.short.to_buy(share) for share in (0.2, 0.05, 0.01)]
    assert all(
        cost(part, wish, found) <= cost(part, wish, pieces) for pieces in [0, *shares]
    )
    # An eighth of a pound, 189 pieces, costs 5.00: more than running out, at 5.
    assert (found == 0) == (money <= 5)


def figures(said_of):
    """Calibration of one builder's stages, said by a rule of the test's own."""
    every = []
    for seed in range(40):
        flown, work = small(seed)
        needs = flown.needs()
        said = [
            Said(int(stage), int(part), said_of(int(needs[stage, part])))
            for stage, part in zip(*np.nonzero(needs), strict=True)
        ]
        every.append(judged(said, work, np.random.default_rng([8, seed])))
    return calibration(every, np.random.default_rng(8))


@pytest.mark.slow
def test_figures_that_promise_too_much_are_out_of_the_band():
    found = figures(lambda need: Count(np.ones(1)))
    assert not found[-1].is_true
    assert found[-1].misses > found[-1].high


@pytest.mark.slow
def test_the_forecasts_figures_are_true():
    every = []
    for seed in range(12):
        flown, work = small(100 + seed)
        policy = Forecast()
        builds.build(flown, work, policy, np.random.default_rng(seed))
        every.append(judged(policy.said, work, np.random.default_rng([9, seed])))
    found = calibration(every, np.random.default_rng(9))
    assert [each.share for each in found] == list(SHARES)
    for each in found:
        low, high = band(each.builds, 1 - each.share, 0.99)
        assert low <= each.misses <= high
        assert each.placed == pytest.approx(each.share, abs=0.05)
        assert each.held >= each.share - 0.03


@pytest.mark.slow
def test_something_is_said_of_every_item_of_every_stage():
    flown, work = small(10, rivets=800)
    policy = Forecast()
    builds.build(flown, work, policy, np.random.default_rng(10))
    said = {(each.stage, each.part) for each in policy.said}
    assert said == set(
        zip(*map(np.ndarray.tolist, np.nonzero(flown.needs())), strict=True)
    )
    assert len(said) == len(policy.said)


def test_a_bin_that_looks_nearly_empty_is_counted():
    policy, shop = begun()
    first = shop.aircraft.stages[0][0].part
    shop.recorded[:] = shop.here[:] = 200
    policy._look_into_bins(shop)
    assert shop.counted == 0
    shop.here[first] = 40
    policy._look_into_bins(shop)
    assert (shop.counted, shop.recorded[first]) == (1, 40)
