"""Ready, ready but for, short of: what each word means."""

from datetime import date, timedelta

import pytest

from inventory.forecasting.rules.readiness import (
    READY,
    READY_BUT_FOR,
    SHORT_OF,
    Due,
    Lead,
    OnHand,
    StageAsk,
    Supplies,
    lines_of_items,
    verdict,
)
from inventory.forecasting.rules.spoilage import Beta, chance_enough
from inventory.forecasting.rules.tools import Coming
from inventory.forecasting.rules.use import Belief
from inventory.planning.rules.dating import Dated

START = date(2027, 3, 1)
LEADS = {1: Lead(6, False), 2: Lead(5, True), 3: Lead(5, True)}
# Ordinary spoilage only: what bursts add is tested by their own rules.
BELIEFS = {item: Belief(bursts=None) for item in LEADS}


def lines(stages, stock, due=()):
    asks = [
        StageAsk(pk, START + timedelta(30 * pk), START + timedelta(30 * pk + 30), needs)
        for pk, needs in stages.items()
    ]
    held = {item: OnHand(*_pair(known)) for item, known in stock.items()}
    return lines_of_items(asks, Supplies(held, list(due), BELIEFS, LEADS), 0.95)


def _pair(known):
    return known if isinstance(known, tuple) else (known, 0.0)


def test_enough_of_everything_is_ready():
    (row,) = lines({0: {1: 100, 2: 50}}, {1: 200, 2: 100}).values()
    found = verdict(row, 0.95)
    assert found.word == READY
    assert found.chance_ready > 0.99
    assert found.in_the_way is None


def test_one_short_item_is_named_with_its_order_date():
    (row,) = lines({0: {1: 100, 2: 50}}, {1: 90, 2: 100}).values()
    found = verdict(row, 0.95)
    assert found.word == READY_BUT_FOR
    assert found.in_the_way.item_id == 1
    assert found.in_the_way.certainly_short
    assert found.in_the_way.order_by == START - timedelta(6)
    # What is to be ordered makes the item ready by its own share of the doubt.
    share = 0.05 / 2
    bought = 90 + found.in_the_way.to_order
    assert 1 - chance_enough(100, bought - 100, Beta()) <= share
    assert 1 - chance_enough(100, bought - 101, Beta()) > share


def test_two_short_items_are_short_of():
    (row,) = lines({0: {1: 100, 2: 50}}, {1: 90, 2: 10}).values()
    found = verdict(row, 0.95)
    assert (found.word, found.short_of) == (SHORT_OF, 2)


def test_exactly_the_need_is_not_ready_because_some_spoil():
    (row,) = lines({0: {1: 100}}, {1: 100}).values()
    assert not row[0].certainly_short
    assert row[0].chance_short == pytest.approx(1 - chance_enough(100, 0, Beta()))
    assert verdict(row, 0.95).word == READY_BUT_FOR


def test_earlier_stages_take_first():
    found = lines({0: {1: 100}, 1: {1: 100}}, {1: 150})
    assert not found[0][0].short
    assert found[1][0].certainly_short
    assert found[1][0].through == 200


def test_what_is_due_before_the_start_counts_and_what_comes_later_does_not():
    stock = {1: 60}
    early = [Due(1, 60, START - timedelta(30))]
    late = [Due(1, 60, START + timedelta(1))]
    assert not lines({0: {1: 100}}, stock, early)[0][0].short
    assert lines({0: {1: 100}}, stock, late)[0][0].certainly_short


@pytest.mark.parametrize(("days", "counted"), [(-1, 60), (0, 60), (1, 0)])
def test_a_parcel_counts_up_to_the_day_the_stage_starts(days, counted):
    """For items, and for tools too; of another item it never counts."""
    parcels = [Due(1, 60, START + timedelta(days)), Due(2, 7, START - timedelta(9))]
    assert lines({0: {1: 100}}, {1: 60}, parcels)[0][0].due == counted
    end = START + timedelta(30)
    day = Dated(0, START, end, is_guess=False, late=False, over=False)
    assert Coming([day], parcels, LEADS).by(1, day) == counted


def test_many_small_doubts_together_are_in_the_way():
    # Ten items that each have a chance of 0.4 % within their share of 0.5 %, and
    # together stay ready; the product never claims more than the shares allow.
    needs = {1: 100, 2: 100, 3: 100}
    (row,) = lines({0: needs}, dict.fromkeys(needs, 112)).values()
    found = verdict(row, 0.95)
    shorts = [line.chance_short for line in row]
    product = 1.0
    for chance in shorts:
        product *= 1 - chance
    assert found.chance_ready == pytest.approx(product)
    assert (found.word == READY) == (product >= 0.95)


def test_a_parcel_expected_the_day_before_may_be_late():
    (row,) = lines({0: {1: 100}}, {1: 60}, [Due(1, 60, START - timedelta(1))]).values()
    assert 0.05 < row[0].chance_short < 0.15
    assert row[0].due == 60
    assert not row[0].certainly_short


def test_a_doubtful_count_raises_the_chance_and_is_worth_a_recount():
    sure, unsure = (
        lines({0: {1: 100}}, {1: stock})[0][0] for stock in ((110, 0.0), (110, 12.0))
    )
    assert not sure.short
    assert unsure.short
    assert unsure.to_order > 0
    assert unsure.worth_counting > sure.worth_counting == 0.0


def test_the_day_it_runs_out_lies_in_the_stage_that_uses_it_up():
    found = lines({0: {1: 100}, 1: {1: 100}, 2: {1: 100}}, {1: 152})
    days = [found[stage][0].run_out for stage in range(3)]
    assert [day is None for day in days] == [True, False, True]
    assert START + timedelta(40) < days[1] < START + timedelta(50)
