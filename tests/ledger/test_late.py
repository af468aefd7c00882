"""Acts that arrive after their time, in any order: a count is never counted twice.

The rule (a delta older than a posted count is not applied again, two late counts: the
later real time wins) is common practice, no source; the model below states it anew.
"""

from datetime import timedelta
from itertools import permutations

import pytest

from inventory.ledger import queries
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.actions.posting import Ask
from inventory.ledger.models import Bin
from inventory.ledger.queries import single_place
from tests.conftest import NOW

pytestmark = pytest.mark.django_db


def at(minutes):
    return NOW + timedelta(minutes=minutes)


def act(bin, owner, minutes, what, quantity):
    ask = Ask(by=owner, now=at(minutes), late=True)
    if what == "count":
        return verbs.count(bin=bin, counted=quantity, ask=ask)
    place = single_place("unplanned")
    if what == "pull":
        return verbs.pull(bin=bin, quantity=quantity, to=place, ask=ask)
    return verbs.give_back(bin=bin, quantity=quantity, from_=place, ask=ask)


def modelled(held, acts):
    """What the bin holds when everything is taken in the order it happened."""
    for _minutes, what, quantity in sorted(acts):
        if what == "count":
            held = quantity
        else:
            held += quantity if what == "return" else -quantity
    return held


STORIES = [
    [(10, "pull", 5), (20, "count", 30), (30, "pull", 4)],
    [(10, "count", 33), (20, "count", 28), (30, "return", 2)],
    [(10, "pull", 3), (20, "return", 1), (30, "count", 50)],
    [(5, "count", 12), (10, "pull", 2), (20, "pull", 1), (40, "return", 1)],
]


@pytest.mark.slow
@pytest.mark.parametrize("story", STORIES)
def test_any_order_of_arrival_ends_where_the_true_order_does(rivets, owner, story):
    for order in permutations(story):
        bin = open_bin(item=rivets.item, by=owner)
        verbs.count(bin=bin, counted=40, ask=Ask(by=owner, now=at(0)))
        for one in order:
            act(bin, owner, *one)
        assert queries.quantity_in(bin) == modelled(40, order), order
    assert queries.flaws() == []


def test_a_late_pull_that_a_count_has_seen_is_no_news(rivets, owner):
    act(rivets, owner, 20, "count", 7)
    done = act(rivets, owner, 10, "pull", 33)
    assert (done.counted_since, done.beyond) == (True, 0)
    assert queries.quantity_in(rivets) == 7


@pytest.mark.parametrize(("minute", "asks"), [(19.5, True), (19, False)])
def test_within_a_minute_nobody_guesses_which_came_first(rivets, owner, minute, asks):
    act(rivets, owner, 20, "count", 35)
    act(rivets, owner, minute, "pull", 5)
    bin = Bin.objects.get(pk=rivets.pk)
    assert bin.count_it == asks
    assert ("which came first" in bin.count_reason) == asks


@pytest.mark.parametrize(("minute", "asks"), [(20.5, True), (21, False)])
def test_a_late_count_within_a_minute_of_a_pull_asks_again(rivets, owner, minute, asks):
    act(rivets, owner, minute, "pull", 5)
    act(rivets, owner, 20, "count", 35)
    bin = Bin.objects.get(pk=rivets.pk)
    assert queries.quantity_in(bin) == 30
    assert bin.count_it == asks
