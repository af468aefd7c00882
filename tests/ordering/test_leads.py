"""Lead times: stated, then learned from the parcels that came."""

from datetime import timedelta

import pytest

from inventory.ledger.actions.posting import Ask
from inventory.ordering.actions.placing import (
    AskLine,
    offer,
    place_order,
    supplier_called,
)
from inventory.ordering.actions.receiving import receive
from inventory.ordering.queries import days_late, leads
from inventory.ordering.rules.leads import Late, lateness, lead_days


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
@pytest.mark.parametrize("taken", [11, 0, -1])
def test_three_parcels_are_believed(rivets, owner, now, taken):
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
        came = Ask(by=owner, now=placed + timedelta(days=taken))
        line = order.lines.get()
        receive(bin=rivets, supplier=supplier, ask=came, pieces=100, line=line)
    assert leads()[rivets.item_id].days == max(0, taken)


def test_late_parcels_are_a_guess_until_parcels_came():
    assert lateness([]) == Late(0.1, 10.0)
    assert lateness([0, -2, 0]).share == pytest.approx(1 / 13)
    slow = lateness([30] * 10)
    assert slow.share == pytest.approx(11 / 20)
    assert slow.days == pytest.approx(310 / 11)


@pytest.mark.django_db
def test_days_late_count_what_came_and_what_is_still_out(rivets, owner, now):
    supplier = supplier_called(name="Slow post", lead_days=4)
    offer(item=rivets.item, supplier=supplier, pack=100, lead_days=4)
    lines = [
        place_order(
            supplier=supplier,
            asks=[AskLine(rivets.item, 1, 100)],
            placed_on=now.date(),
            by=owner,
        ).lines.get()
        for _twice in range(2)
    ]
    assert days_late(now.date()) == []
    came = Ask(by=owner, now=now + timedelta(days=9))
    receive(bin=rivets, supplier=supplier, ask=came, pieces=100, line=lines[0])
    assert sorted(days_late((now + timedelta(days=20)).date())) == [5, 16]
