"""Lent ones are missing from the pool, borrowed ones are in it, until they go back."""

import uuid

import pytest
from django.urls import reverse

from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.queries import flaws, lent_and_borrowed, owned, quantity_in

pytestmark = pytest.mark.django_db


def noted(page, bin, what, quantity, who="Ash next door"):
    sent = {"scan_id": uuid.uuid4(), "what": what, "who": who, "quantity": quantity}
    return page.post(reverse("bin-lend", args=[bin.number]), sent, follow=True)


def people(bin):
    rows = lent_and_borrowed(bin.item_id)
    return [(row.place.kind, row.place.name, row.quantity) for row in rows]


@pytest.mark.slow
def test_lent_and_taken_back(page, rivets):
    answer = noted(page, rivets, "lend", 15)
    assert b"lent to Ash next door" in answer.content
    assert (quantity_in(rivets), owned()[rivets.item_id]) == (25, 25)
    answer = noted(page, rivets, "take_back", 20)
    assert b"has 15 of" in answer.content
    assert quantity_in(rivets) == 25
    noted(page, rivets, "take_back", 15)
    assert (quantity_in(rivets), people(rivets)) == (40, [])
    assert flaws() == []


@pytest.mark.slow
def test_borrowed_and_given_back(page, rivets):
    noted(page, rivets, "borrow", 30)
    for name in ("bin", "bin-lend"):
        shown = page.get(reverse(name, args=[rivets.number]))
        assert b"<b>30</b> borrowed from Ash next door" in shown.content
    assert (quantity_in(rivets), owned()[rivets.item_id]) == (70, 70)
    assert people(rivets) == [("lender", "Ash next door", -30)]
    noted(page, rivets, "give_back", 30)
    assert (quantity_in(rivets), people(rivets)) == (40, [])


def test_the_same_form_sent_twice_lends_once(page, rivets):
    sent = {"scan_id": uuid.uuid4(), "what": "lend", "who": "Ash", "quantity": 5}
    for _twice in range(2):
        page.post(reverse("bin-lend", args=[rivets.number]), sent)
    assert quantity_in(rivets) == 35


@pytest.mark.slow
def test_what_came_back_and_is_sent_twice_came_back_once(page, rivets):
    noted(page, rivets, "lend", 15)
    sent = {"scan_id": uuid.uuid4(), "what": "take_back", "who": "Ash next door"}
    for _twice in range(2):
        answer = page.post(
            reverse("bin-lend", args=[rivets.number]),
            {**sent, "quantity": 15},
            follow=True,
        )
        assert answer.status_code == 200
    assert quantity_in(rivets) == 40


def test_moved_to_another_bin_of_the_item_only(page, rivets, owner, ask):
    beside = open_bin(item=rivets.item, by=owner, number=13)
    verbs.count(bin=beside, counted=0, ask=ask())
    address = reverse("bin-move", args=[rivets.number])
    assert b"bin 13" in page.get(reverse("bin-lend", args=[rivets.number])).content
    page.post(address, {"scan_id": uuid.uuid4(), "to": 13, "quantity": 12})
    assert (quantity_in(rivets), quantity_in(beside)) == (28, 12)
    sent = {"scan_id": uuid.uuid4(), "to": rivets.number, "quantity": 12}
    slip = page.post(address, sent)
    assert slip.status_code == 400
    assert "They are in bin 12 already" in slip.content.decode()
    assert (quantity_in(rivets), quantity_in(beside)) == (28, 12)
    sent = {"scan_id": uuid.uuid4(), "to": 14, "quantity": 12}
    assert page.post(address, sent).status_code in (400, 404)
