"""Lead times: stated, then learned from the parcels that came."""

from datetime import timedelta

import pytest

from inventory.ledger.actions.posting import Ask
from inventory.supply.actions.ordering import (
    AskLine,
    offer,
    place_order,
    supplier_called,
)
from inventory.supply.actions.receiving import receive
from inventory.supply.queries import leads
from inventory.supply.rules.leads import lead_days


@pytest.mark.parametrize(
    ("stated", "taken", "days"),
    [
        (5, [], 5),
        (5, [9, 9], 5),
        (5, [9, 8, 40], 9),
        (None, [], None),
        (None, [4, 6, 5], 5),
        (5, [30] * 8 + [6] * 8, 6),
    ],
)
def test_the_record_outweighs_what_is_stated(stated, taken, days):
    assert lead_days(stated, taken) == days


@pytest.mark.django_db
def test_three_slow_parcels_are_believed(rivets, owner, now):
    supplier = supplier_called(name="Slow post", lead_days=4)
    offer(item=rivets.item, supplier=supplier, pack=100, lead_days=None)
    assert leads()[rivets.item_id].days == 4
    for week in range(3):
        placed = now + timedelta(weeks=week)
        order = place_order(
            supplier=supplier,
            asks=[AskLine(rivets.item, 1, 100)],
            placed_on=placed.date(),
            by=owner,
        )
        came = Ask(by=owner, now=placed + timedelta(days=11))
        line = order.lines.get()
        receive(bin=rivets, supplier=supplier, ask=came, pieces=100, line=line)
    assert leads()[rivets.item_id].days == 11
