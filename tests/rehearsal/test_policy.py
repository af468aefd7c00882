"""A builder who does what the program says: what may be seen, and whether it is true."""

from datetime import timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from inventory.forecasting.rules.counts import Count
from inventory.forecasting.rules.deciding import Decided, Look
from inventory.forecasting.rules.scores import band
from inventory.rehearsal.judging import SHARES, calibration, judged
from inventory.rehearsal.policy.habits import (
    KeepLevel,
    PlanAndLook,
    PlanPlusByNeed,
    PlanPlusTenth,
)
from inventory.rehearsal.policy.product import Gripcount, Said
from inventory.rehearsal.seen.shop import Entry
from inventory.rehearsal.trials import Fare
from inventory.rehearsal.world import builds
from tests.rehearsal.rehearsed import Blindfolded, small

WAYS = [PlanPlusTenth, PlanPlusByNeed, PlanAndLook, KeepLevel, Gripcount]


@pytest.mark.unmeasured
@pytest.mark.slow
@pytest.mark.parametrize("way", WAYS)
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


def begun(way=Gripcount, seed=11):
    """A policy that has ordered, and its shop, whose parcels have come."""
    flown, _work = small(seed)
    policy, shop = way(), builds.SimulatedShop(flown, np.random.default_rng(seed))
    policy.begin(shop)
    shop.day = 60
    shop.receive()
    policy.received(shop)
    return policy, shop


def test_the_first_order_covers_what_the_year_ahead_asks():
    _policy, shop = begun()
    asked = shop.aircraft.needs()[0]
    assert (shop.recorded >= asked)[asked > 0].all()
    assert 1 <= shop.parcels <= 2


def test_nothing_is_ordered_twice_while_it_is_on_its_way():
    flown, _work = small(11)
    policy, shop = Gripcount(), builds.SimulatedShop(flown, np.random.default_rng(1))
    policy.begin(shop)
    parcels = shop.parcels
    shop.day = 1
    policy.review(shop)
    assert shop.parcels == parcels


def test_a_bin_that_is_emptier_than_its_record_is_noted_by_who_pulls():
    """What is seen while pulling costs nothing: an entry, and no count."""
    policy, shop = begun()
    shop.here[0], shop.recorded[0] = 10, 200
    policy.nearly_empty(shop, 0, 10)
    assert (shop.counted, shop.recorded[0], shop.minutes) == (0, 12, 0.0)
    (row,) = [each for each in policy.record.doubts() if each.known.bin_id == 0]
    assert row.doubt == pytest.approx(25 / 12**0.5, abs=0.01)
    policy.nearly_empty(shop, 0, 10)
    assert shop.recorded[0] == 12


@pytest.mark.parametrize(("days", "counted"), [(None, 0), (5, 1)])
def test_a_look_is_made_when_asked_for_and_a_count_when_an_order_is_due(
    monkeypatch, days, counted
):
    policy, shop = begun()
    day = days and policy.record.today + timedelta(days=days)
    looks = [Look(1, 0, 0.01, counts=False), Look(2, 0, 0.01, counts=True)]
    said = Decided([], [], looks, day)
    monkeypatch.setattr("inventory.rehearsal.policy.product.decide", lambda facts: said)
    policy.review(shop)
    assert (shop.looked, shop.counted) == (1, counted)


def test_a_pull_that_was_forgotten_is_pulled_at_closing():
    policy, shop = begun()
    shop.here[0], shop.recorded[0] = 60, 100
    stage, chunk = next(
        (at, chunk)
        for at, chunks in enumerate(shop.aircraft.stages)
        for chunk in chunks[:1]
    )
    part, before = chunk.part, int(shop.recorded[chunk.part])
    policy.worked(shop, stage, Entry(part, chunk.need, 0))
    assert shop.recorded[part] == max(0, before - chunk.need)
    assert policy.record.moved[part] >= chunk.need


@pytest.mark.parametrize(
    ("way", "more"),
    [
        (PlanPlusTenth, {100: 110, 1000: 1100, 5: 6}),
        (PlanPlusByNeed, {100: 120, 1000: 1100, 5: 15, 0: 0}),
    ],
)
def test_what_habit_buys_beyond_a_need(way, more):
    assert {need: way().more(need) for need in more} == more


def test_a_look_before_a_stage_orders_what_looks_low():
    policy, shop = begun(PlanAndLook)
    near = shop.aircraft.needs()[:2].sum(axis=0)
    part = int(np.flatnonzero(near > 30)[0])
    parcels = shop.parcels
    policy.stage_begins(shop, 0)
    assert (shop.parcels, shop.looked) == (parcels, int((near > 0).sum()))
    shop.here[part] = 0
    policy.stage_begins(shop, 0)
    assert shop.parcels == parcels + 1
    assert list(shop.coming[-1].pieces) == [part]
    policy.stage_begins(shop, 0)
    assert shop.parcels == parcels + 1


def test_a_keep_level_is_what_the_next_two_stages_ask():
    policy, shop = begun(KeepLevel)
    near = shop.aircraft.needs()[:2].sum(axis=0)
    assert set(np.flatnonzero(shop.here)) == set(np.flatnonzero(near))
    parcels = shop.parcels
    policy.review(shop)
    assert shop.parcels == parcels
    policy.stage = 2
    policy.review(shop)
    assert shop.parcels == parcels + 1


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


@pytest.mark.unmeasured
@pytest.mark.slow
def test_the_forecasts_figures_are_true():
    every = []
    for seed in range(12):
        flown, work = small(100 + seed)
        policy = Gripcount()
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
    policy = Gripcount()
    builds.build(flown, work, policy, np.random.default_rng(10))
    said = {(each.stage, each.part) for each in policy.said}
    assert said == set(
        zip(*map(np.ndarray.tolist, np.nonzero(flown.needs())), strict=True)
    )
    assert len(said) == len(policy.said)
