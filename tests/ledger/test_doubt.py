"""Doubt: how far a bin's balance may be off, from how it was stated and what moved."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ledger import rules
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_place
from inventory.ledger.actions.posting import Ask
from inventory.ledger.models import CountFound
from inventory.ledger.queries import flaws, single_place
from inventory.ledger.queries.counts import count_facts, count_record, known_of
from inventory.ledger.rules import CountFacts, doubt, learned_variance

FACTS = CountFacts(1, 1, 400, 400, None, counted_by_hand=True, moved=0)


@given(st.integers(0, 5000), st.integers(0, 5000), st.integers(1, 500))
def test_doubt_grows_with_what_moved_and_shrinks_by_counting(stated, moved, more):
    known = replace(FACTS, stated=stated, moved=moved)
    assert doubt(known) < doubt(replace(known, moved=moved + more))
    assert doubt(known) <= doubt(replace(known, counted_by_hand=False))
    assert doubt(replace(known, moved=0)) <= doubt(known)


def test_a_weighed_count_brings_its_own_doubt():
    assert doubt(replace(FACTS, doubt=6.0)) == 6.0
    assert doubt(replace(FACTS, doubt=3.0, moved=16)) == 5.0


def test_the_shops_own_counts_move_the_guess():
    assert learned_variance(0.0, 0) == rules.MOVED_VARIANCE
    assert learned_variance(0.0, 2000) < rules.MOVED_VARIANCE
    assert learned_variance(8000.0, 2000) == pytest.approx((500 + 8000) / 2500)


@pytest.mark.django_db
def test_facts_of_a_bin_start_anew_with_each_count(rivets, owner, now):
    bin, ask = rivets, Ask(owner, now)
    (facts,) = count_facts([bin.item_id])
    before = facts.moved
    verbs.pull(bin=bin, quantity=7, to=single_place("unplanned"), ask=ask)
    (facts,) = count_facts([bin.item_id])
    assert facts.moved == before + 7
    verbs.count(bin=bin, counted=31, ask=replace(ask, doubt=Decimal("2.5")))
    (facts,) = count_facts([bin.item_id])
    assert (facts.stated, facts.doubt, facts.moved) == (31, 2.5, 0)
    assert facts.balance == 31
    assert facts.counted_by_hand


def test_one_slip_moves_what_counts_teach_by_a_bounded_amount():
    """A hundred thousand received by mistake and counted away is one count of many."""
    usual = [(bin, 1, 100) for bin in range(1, 5)] * 3
    before = rules.count_record(usual)
    slip = rules.count_record([*usual, (1, -99_999, 100)])
    assert before.pooled < slip.pooled < 2 * rules.MOVED_VARIANCE
    assert slip.per_moved(1) > slip.per_moved(2)
    assert slip.per_moved(1) < 4 * rules.MOVED_VARIANCE
    assert slip.per_moved(9) == slip.pooled
    # The same from the first count on, and however great the slip.
    first = rules.count_record([(1, -99_999, 100)])
    more = rules.count_record([(1, 10**6, 100)])
    assert (first.pooled, first.own) == (more.pooled, more.own)
    # What is lacking is one job from the wrong tin, of the hundred that the guess is worth.
    assert more.mixed_up < rules.MIXED_UP < first.mixed_up < 2.1 * rules.MIXED_UP
    assert doubt(replace(FACTS, moved=100), first.per_moved(1)) < 20


@pytest.mark.parametrize(
    ("came", "counted", "found"),
    [
        (99_999, 33, (0, 7)),  # the slip, whole
        (99_999, 31, (-2, 7)),  # and two that are lacking
        (9_000, 45, (12, 7)),
        (9_000, 4_000, (-5_033, 9_007)),  # no act came to that
        (300, 33, (-300, 307)),  # a usual parcel that nobody found in the bin
    ],
)
@pytest.mark.django_db
def test_a_count_that_takes_a_slip_back_teaches_nothing_of_it(
    rivets, owner, now, came, counted, found
):
    """Forty are there, seven are pulled, and so many received by a slip."""
    place, ask = rivets.place, Ask(owner, now)
    verbs.pull(bin=rivets, quantity=7, to=single_place("unplanned"), ask=ask)
    supplier = open_place(kind="supplier", name="Hollow Oak")
    verbs.receive(bin=rivets, quantity=came, supplier=supplier, ask=ask)
    verbs.count(bin=rivets, counted=counted, ask=ask)
    row = CountFound.objects.get(act__counted=counted)
    assert (row.difference, row.moved) == found
    assert known_of(place.pk, rivets.item_id).found[-1].difference == found[0]
    assert flaws() == []


def test_jobs_from_the_wrong_tin_are_learned_from_what_counts_find_lacking():
    """A gamma for the rate of a Poisson: what is lacking and large, over all jobs."""
    quiet = rules.count_record([(bin, 1, 500) for bin in range(40)])
    assert quiet.mixed_up == pytest.approx(1 / (100 + 400))
    found = [(1, -60, 100), (2, -60, 100), (3, 60, 100), (4, -19, 100)]
    lacking = rules.count_record([*found, *((bin, 1, 500) for bin in range(36))])
    assert lacking.mixed_up == pytest.approx((1 + 2) / (100 + 368))
    assert rules.CountRecord().mixed_up == rules.count_record([]).mixed_up == 0.01


def test_without_the_slip_every_doubt_stays_as_it_was_and_with_it_none_would():
    usual = [(bin, 1, 100) for bin in range(1, 5)] * 3
    before = rules.count_record(usual).pooled
    kept = rules.count_record([*usual, (1, 0, 7)]).pooled
    assert kept == pytest.approx(before, rel=0.01)
    as_found = rules.count_record([*usual, (1, -99_999, 100_006)]).pooled
    assert as_found > 5 * before


def test_many_counts_that_find_much_are_believed():
    """A shop where every count is far off is no shop of slips."""
    found = [(bin, 60, 100) for bin in range(1, 21)]
    record = rules.count_record(found)
    assert record.pooled == pytest.approx((500 + 20 * 3600) / 2500)
    assert record.per_moved(1) == pytest.approx((record.pooled * 500 + 3600) / 600)


@pytest.mark.django_db
def test_an_opening_list_is_no_count_by_hand_and_no_evidence(rivets, owner, now):
    verbs.count(bin=rivets, counted=500, ask=Ask(owner, now, reason=rules.OPENING))
    (facts,) = count_facts([rivets.item_id])
    assert not facts.counted_by_hand
    assert count_record() == rules.CountRecord()
    verbs.count(bin=rivets, counted=37, ask=Ask(owner, now))
    assert CountFound.objects.get().difference == -463


@pytest.mark.django_db
def test_the_facts_are_two_reads(rivets, django_assert_num_queries):
    with django_assert_num_queries(2):
        count_facts([rivets.item_id])
