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
from inventory.rehearsal.policy.habits import KeepLevel, PlanPlusTenth
from inventory.rehearsal.policy.product import Gripcount
from inventory.rehearsal.seen import prices
from inventory.rehearsal.seen.plan import Aircraft, Chunk, Part
from inventory.rehearsal.world import builds, moody, parcels
from inventory.rehearsal.world.aircraft import RANDOM_RIVETS, at_random
from inventory.rehearsal.world.builders import Job, Work
from inventory.rehearsal.world.worlds import WORLDS
from tests.rehearsal.rehearsed import small

WAYS = (PlanPlusTenth, KeepLevel, Gripcount)
HEAVY = Part("a", "a", 20.0)


def used(work):
    return sum(job.used for stage in work.stages for job in stage)


@pytest.mark.unmeasured
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


@pytest.mark.unmeasured
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
        parcels.buy(
            (HEAVY,), {0: 1}, supplier, 0, rng, parcels.days_taken
        ).parcel.arrives
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


def moody_shares(seed, need=100, jobs=60):
    """The spoiled share of each job of a build in the moody world, in order."""
    chunks = [Chunk(0, need)] * jobs
    flown = Aircraft("one", [HEAVY], [chunks])
    work = moody.draw(flown, np.random.default_rng([12, seed]))
    return np.array([job.spoiled / need for job in work.stages[0]])


def test_moody_builders_learn_and_differ_more_than_chance():
    shares = np.array([moody_shares(seed) for seed in range(200)])
    first, last = shares[:, :10].mean(), shares[:, -10:].mean()
    assert first > 1.5 * last
    pieces = 100 * shares[:, -20:]
    # Poisson pieces would vary by their mean; these come in evenings.
    assert pieces.var() > 3 * pieces.mean()


def test_moody_parcels_keep_no_day():
    supplier, rng = prices.SUPPLIERS[0], np.random.default_rng(3)
    days = [moody.days_taken(supplier, rng) for _ in range(2000)]
    assert min(days) >= 1
    assert supplier.days <= np.median(days) <= supplier.days + 1
    assert np.quantile(days, 0.95) > 2 * supplier.days


def test_the_worlds_share_no_way_of_drawing():
    one, other = WORLDS
    flown, _work = small(4)
    drawn = [world.draw(flown, np.random.default_rng(4)) for world in WORLDS]
    assert drawn[0] != drawn[1]
    assert one.days is not other.days
