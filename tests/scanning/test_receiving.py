"""Goods received at the bench: which order they are booked to, and what was not ordered."""

import pytest

from inventory.catalog.actions import item_for_callout
from inventory.ledger import queries as ledger
from inventory.ledger.actions.bins import open_bin
from inventory.ordering.actions.placing import AskLine, place_order, supplier_called
from inventory.ordering.models import Receipt
from inventory.ordering.queries import still_owed
from inventory.scanning.rules.reading import ORDER, read_code
from inventory.scanning.rules.saying import Key
from inventory.trade import codes
from tests.scanning.conftest import card

pytestmark = pytest.mark.django_db
ENTER = card(Key.ENTER)
RECEIVE = codes.make("C", 5)


@pytest.fixture
def orders(rivets, owner, now):
    """Two orders of two suppliers that wait for what is in bin 12."""

    def placed(name, pieces):
        return place_order(
            supplier=supplier_called(name=name),
            asks=[AskLine(rivets.item, packs=1, pack_pieces=pieces)],
            placed_on=now.date(),
            expected_on=now.date(),
            by=owner,
        )

    return placed("Reed & Daughters", 100), placed("Hollow Oak", 50)


def waited_for():
    return {row.line.order.number: row.pieces for row in still_owed()}


def booked():
    receipt = Receipt.objects.latest("pk")
    return receipt.line and receipt.line.order.number, receipt.act


@pytest.mark.parametrize(
    ("text", "number"),
    [("order 7", 7), ("Order 12", 12), ("no order", 0), ("NO ORDER", 0)],
)
def test_an_order_is_typed(text, number):
    assert (read_code(text).type, read_code(text).number) == (ORDER, number)


def test_which_of_two_orders_is_asked_and_the_one_named_is_booked(say, orders):
    asked = say(RECEIVE, "b12", "50", ENTER)
    assert asked["kind"] == "which_order"
    assert (
        "order 1 (Reed & Daughters, 100); order 2 (Hollow Oak, 50)"
        in (asked["sentence"])
    )
    assert Receipt.objects.count() == 0
    done = say("order 2", ENTER)
    assert "For order 2. The line is complete." in done["sentence"]
    assert done["changed"]["owed"] == {
        str(orders[0].lines.get().item_id): [(1, 100, "Reed & Daughters")]
    }
    assert waited_for() == {1: 100}


def test_confirmed_once_more_the_oldest_takes_it(say, orders):
    done = say(RECEIVE, "b12", "50", ENTER, ENTER)
    assert "For order 1. That is 50 short of 100." in done["sentence"]
    assert waited_for() == {1: 50, 2: 50}


def test_what_came_by_no_order_leaves_all_of_them_waiting(say, orders):
    say(RECEIVE, "b12", "50", "no order", ENTER)
    assert booked()[0] is None
    assert waited_for() == {1: 100, 2: 50}


def test_an_orders_goods_come_bin_after_bin_until_it_is_left(say, bench, orders):
    say("order 2", "b12", "20", ENTER, "b12", "30", ENTER)
    assert waited_for() == {1: 100}
    assert bench.state["order"] == 2
    say(card(Key.CANCEL), "b12")
    assert (bench.state["order"], bench.state["verb"]) == (None, "pull")


def test_the_only_order_is_said_and_the_one_in_hand_with_what_it_wants(say, orders):
    assert "For order 2 (Hollow Oak, 50)." in say("order 2", "b12")["sentence"]
    say("50", ENTER, card(Key.CANCEL))
    only = say(RECEIVE, "b12")["sentence"]
    assert "For order 1 (Reed & Daughters, 100)." in only
    say("9", ENTER)
    assert "For order" not in say("b12")["sentence"]


def test_a_parcel_that_came_twice_is_asked_about_and_is_over(say, orders):
    say("order 2", "b12", "50", ENTER)
    twice = say("b12")
    assert (twice["kind"], twice["loud"]) == ("not_on_order", True)
    assert "did it come twice?" in twice["sentence"]
    assert say("50", ENTER)["kind"] == "not_on_order"
    assert "For order 2. That is 50 over." in say(ENTER)["sentence"]
    assert waited_for() == {1: 100}


def test_what_was_not_ordered_is_stopped_and_booked_as_such(say, orders, owner):
    bin = open_bin(item=item_for_callout(text="MS20426AD3-4"), by=owner, number=14)
    wrong = say("order 1", "b14", "90", ENTER)
    assert "STOP. Order 1 waits for no 3/32 flush, 1/4 long" in wrong["sentence"]
    assert say(card(Key.CANCEL))["kind"] == "cancelled"
    assert ledger.quantity_in(bin) == 0
    say("b14", "90", ENTER, ENTER)
    line, act = booked()
    assert (line, act.reason) == (None, "not ordered, came with order 1")
    assert act.told_by.source.name == "Reed & Daughters"
    assert waited_for() == {1: 100, 2: 50}
    say(card(Key.UNDO))
    assert ledger.quantity_in(bin) == 0
