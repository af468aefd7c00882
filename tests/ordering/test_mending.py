"""An order's lines put right: what it is of, what it still waits for."""

import pytest

from inventory.catalog.actions import item_for_callout
from inventory.ledger.actions.posting import settle_rechecks
from inventory.ledger.queries import rechecks
from inventory.ordering.actions.placing import (
    AskLine,
    add_line,
    change_line,
    place_order,
    supplier_called,
)
from inventory.ordering.queries import lines_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def placed(rivets, owner, now):
    return place_order(
        supplier=supplier_called(name="Hangar supply"),
        asks=[AskLine(rivets.item, 3, 100)],
        placed_on=now.date(),
        by=owner,
    )


def looked_at():
    settle_rechecks({row.item_id: row.wanted for row in rechecks()})
    assert rechecks() == []


def test_a_line_of_another_item_has_both_looked_at(placed, rivets, owner):
    other = item_for_callout(text="MS20470AD4-5")
    looked_at()
    change_line(line=placed.lines.get(), ask=AskLine(other, 2, 50), by=owner)
    assert {row.item_id for row in rechecks()} == {rivets.item_id, other.pk}
    looked_at()
    add_line(order=placed, ask=AskLine(rivets.item, 1, 100), by=owner)
    assert {row.item_id for row in rechecks()} == {rivets.item_id}


@pytest.mark.parametrize("complete", [True, False])
def test_an_order_that_is_not_there_owes_nothing(placed, complete):
    (row,) = lines_of(placed.number, complete=complete)
    assert row.pieces == 300
    assert lines_of(placed.number + 1, complete=complete) == []
