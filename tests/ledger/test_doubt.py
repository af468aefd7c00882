"""Doubt: how far a bin's balance may be off, from how it was stated and what moved."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ledger import rules
from inventory.ledger.actions import verbs
from inventory.ledger.actions.posting import Ask
from inventory.ledger.queries import single_place
from inventory.ledger.queries.counts import count_facts, count_record
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


@pytest.mark.django_db
def test_an_opening_list_is_no_count_by_hand_and_no_evidence(rivets, owner, now):
    done = verbs.count(
        bin=rivets, counted=500, ask=Ask(owner, now, reason=rules.OPENING)
    )
    (facts,) = count_facts([rivets.item_id])
    assert not facts.counted_by_hand
    assert count_record()[0] == 0.0
    verbs.undo(act=done.act, ask=Ask(owner, now))
    verbs.count(bin=rivets, counted=37, ask=Ask(owner, now))
    squares, _moved = count_record()
    assert squares == 9.0


@pytest.mark.django_db
def test_the_facts_are_two_reads(rivets, django_assert_num_queries):
    with django_assert_num_queries(2):
        count_facts([rivets.item_id])
