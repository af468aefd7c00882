"""The simulator: nothing appears or vanishes, and every way meets the same work."""

import copy
from dataclasses import replace
from itertools import product
from math import ceil

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.forecasting.rules.scores import band
from inventory.forecasting.rules.stock import Deficit
from inventory.rehearsal.policy.forecasting import Forecast
from inventory.rehearsal.policy.habits import KeepLevel, PlanPlusTenth
from inventory.rehearsal.policy.reckoning import Risk, Wish
from inventory.rehearsal.policy.sharing import combined, filled, price
from inventory.rehearsal.seen import prices
from inventory.rehearsal.seen.plan import Part
from inventory.rehearsal.world import builds, parcels
from inventory.rehearsal.world.aircraft import RANDOM_RIVETS, at_random
from inventory.rehearsal.world.builders import Job, Work
from tests.rehearsal.rehearsed import small

WAYS = (PlanPlusTenth, KeepLevel, Forecast)
HEAVY = Part("a", "a", 20.0)


def used(work):
    return sum(job.used for stage in work.stages for job in stage)


@pytest.mark.slow
@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("seed", range(2))
def test_what_was_bought_is_used_or_left(way, seed, monkeypatch):
    flown, work = small(seed)
    bought, really = [], builds.buy
    monkeypatch.setattr(
        builds, "buy", lambda *given: bought.append(really(*given)) or bought[-1]
    )
    shop = builds.build(flown, work, way(), np.random.default_rng(seed))
    pieces = sum(sum(each.parcel.pieces.values()) for each in bought)
    assert pieces == used(work) + shop.here.sum() + shop.on_order().sum()
    assert shop.here.min() >= 0
    assert shop.money == pytest.approx(sum(each.price for each in bought))
    assert shop.parcels == len(bought)


@pytest.mark.slow
def test_no_way_of_buying_changes_the_work():
    flown, work = small(1)
    before, needs = copy.deepcopy(work), flown.needs()
    for way in WAYS:
        builds.build(flown, work, way(), np.random.default_rng(1))
        assert work == before
        assert (flown.needs() == needs).all()


def test_a_late_parcel_is_not_here_before_its_day(monkeypatch):
    late = prices.SUPPLIERS[0]
    monkeypatch.setitem(parcels.LATE, late.name, (1.0, (10, 11)))
    flown, _work = small(2)
    shop = builds.SimulatedShop(flown, np.random.default_rng(2))
    shop.order({0: 100}, late)
    arrives = shop.coming[0].arrives
    assert late.days + 10 <= arrives <= late.days + 12
    shop.day = arrives - 1
    shop.receive()
    assert not shop.here.any()
    shop.day = arrives
    shop.receive()
    assert shop.here[0] > 0
    assert not shop.coming


@pytest.mark.parametrize("supplier", prices.SUPPLIERS, ids=lambda each: each.name)
def test_as_many_parcels_are_late_as_the_supplier_says(supplier):
    rng, of = np.random.default_rng(3), 1000
    days = [
        parcels.buy((HEAVY,), {0: 1}, supplier, 0, rng).parcel.arrives
        for _ in range(of)
    ]
    low, high = band(of, parcels.LATE[supplier.name][0], 0.999)
    assert low <= sum(each > supplier.days + 2 for each in days) <= high


def brute_force(offered, pieces):
    """The least price of all choices of packs that hold enough."""
    return min(
        sum(n * pack.price for n, pack in zip(chosen, offered, strict=True))
        for chosen in product(
            *(range(ceil(pieces / pack.pieces) + 1) for pack in offered)
        )
        if sum(n * pack.pieces for n, pack in zip(chosen, offered, strict=True))
        >= pieces
    )


@pytest.mark.slow
@settings(max_examples=40)
@given(
    pieces=st.integers(1, 50),
    grams=st.floats(16.0, 60.0),
    supplier=st.sampled_from(prices.SUPPLIERS),
)
def test_the_cheapest_cover_is_that_of_brute_force(pieces, grams, supplier):
    part = Part("a", "a", grams)
    found = prices.cheapest(supplier, part, pieces)
    offered = prices.packs(supplier, part)
    assert sum(found.bags) >= pieces
    assert found.price == pytest.approx(brute_force(offered, pieces), abs=0.01)


@settings(max_examples=20)
@given(
    wanted=st.dictionaries(st.integers(0, 3), st.integers(1, 400), min_size=1),
)
def test_a_shared_order_asks_for_all_and_is_never_dearer_than_one_supplier(wanted):
    parts = [Part(str(at), "a", grams) for at, grams in enumerate((0.1, 0.3, 1.0, 2.0))]
    lists = combined(parts, {at: Wish([], n) for at, n in wanted.items()})
    assert {at: n for _who, each in lists for at, n in each.items()} == wanted
    assert sum(len(each) for _who, each in lists) == len(wanted)

    alone = [price(parts, [(each, wanted)]) for each in prices.SUPPLIERS]
    assert price(parts, lists) <= min(alone)


def test_a_second_parcel_must_be_worth_its_shipping():
    """A little risk is left alone where only another supplier's parcel would cover it."""
    part = Part("a", "a", 2.0)
    # 28 pieces by the pound are 5.00 and ship for 12.95; 50 by the bag are dearer.
    slight = Deficit(0, np.array([0.5, 0.5]), np.array([0.5, 1.0]))
    assert combined([part], {0: Wish([Risk(slight, 34.0)])}) == []
    assert combined([part], {0: Wish([Risk(slight, 60.0)])}) != []


@pytest.mark.parametrize("seed", range(5))
def test_a_random_aircraft_is_as_large_as_reports_say(seed):
    flown = at_random(np.random.default_rng([4, seed]))
    by_part = np.sort(flown.needs().sum(axis=0))[::-1]
    assert by_part.sum() == pytest.approx(RANDOM_RIVETS, rel=0.01)
    assert 25 <= len(by_part) <= 45
    assert by_part[:7].sum() / by_part.sum() == pytest.approx(0.85, abs=0.03)


def test_a_wrong_tin_leaves_one_up_and_its_neighbour_down():
    flown, work = small(5)
    at = next(n for n, part in enumerate(flown.parts) if part.neighbour is not None)
    beside = flown.parts[at].neighbour
    chunk = replace(work.stages[0][0].chunk, part=at, need=60)
    mistaken = Work([[Job(chunk, 0, 0, 45)]], 10.0, [0])
    shop = builds.build(flown, mistaken, PlanPlusTenth(), np.random.default_rng(5))
    right = Work([[Job(chunk, 0, 0, 0)]], 10.0, [0])
    other = builds.build(flown, right, PlanPlusTenth(), np.random.default_rng(5))
    taken = min(45, other.here[beside])
    assert other.here[beside] - shop.here[beside] == taken
    assert shop.here[at] - other.here[at] == taken
    assert (shop.recorded == other.recorded).all()


@settings(max_examples=25)
@given(
    grams=st.lists(st.sampled_from((0.1, 0.3, 1.0, 2.0)), min_size=1, max_size=4),
    wide=st.integers(2, 300),
    money=st.floats(0, 200),
)
def test_a_first_order_keeps_to_its_money_and_spares_more_for_more(grams, wide, money):
    parts = [Part(str(at), "a", each) for at, each in enumerate(grams)]
    pmf = np.full(wide, 1 / wide)
    short = Deficit(0, pmf, np.cumsum(pmf))
    shorts = dict.fromkeys(range(len(parts)), short)
    least = price(parts, filled(parts, shorts, 0.0))
    lists = filled(parts, shorts, money)
    assert price(parts, lists) <= max(money, least) + 0.01
    more = filled(parts, shorts, money + 50)
    assert chance_to_stop(parts, shorts, more) <= chance_to_stop(parts, shorts, lists)


def chance_to_stop(parts, shorts, lists):
    held = dict.fromkeys(shorts, 0)
    for who, wanted in lists:
        for at, pieces in wanted.items():
            held[at] += sum(prices.cheapest(who, parts[at], pieces).bags)
    return sum(short.over(held[at]) for at, short in shorts.items())
