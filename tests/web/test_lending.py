"""Lent ones are missing from the pool, borrowed ones are in it, until they go back."""

import uuid
from dataclasses import replace
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory import days
from inventory.alerts.queries.finding import findings
from inventory.catalog.actions import item_for_callout
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin, open_place
from inventory.ledger.models import DueBack
from inventory.ledger.queries import flaws, owned, quantity_in
from inventory.ledger.queries.loans import loans
from inventory.ledger.rules import BORROWER

pytestmark = pytest.mark.django_db


def noted(page, bin, what, quantity, who="Ash next door", due=""):
    sent = {"scan_id": uuid.uuid4(), "what": what, "who": who, "quantity": quantity}
    sent["due_on"] = due
    return page.post(reverse("bin-lend", args=[bin.number]), sent, follow=True)


def people(bin):
    return [row.words for row in loans([bin.item_id])]


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
        assert b"30 borrowed from Ash next door" in shown.content
    assert (quantity_in(rivets), owned()[rivets.item_id]) == (70, 70)
    assert people(rivets) == ["30 borrowed from Ash next door"]
    noted(page, rivets, "give_back", 30)
    assert (quantity_in(rivets), people(rivets)) == (40, [])


def test_what_is_out_is_listed_with_its_day_and_told_when_that_is_past(page, rivets):
    today = timezone.localdate()
    tomorrow, past = today + timedelta(1), today - timedelta(1)
    noted(page, rivets, "lend", 15, due=tomorrow)
    noted(page, rivets, "borrow", 4, who="Club")
    text = page.get("/lent/").content.decode()
    assert text.index("15 lent to Ash") < text.index("4 borrowed from Club")
    assert f"due back {days.said(tomorrow)}" in text
    assert f"since {days.said(today)}" in text

    def told(day):
        return [row.sentence for row in findings(day) if row.cause == "lent"]

    assert told(tomorrow) == []
    (said,) = told(tomorrow + timedelta(1))
    assert said.startswith("15 of 3/32 flush, 7/32 long")
    assert "Ask for it" in said

    ash, club = loans()
    address = reverse("lent-until", args=[club.place.pk, rivets.item_id])
    assert page.post(address, {"on": past}).status_code == 400
    page.post(address, {"on": tomorrow})
    assert [row.due_on for row in loans()] == [tomorrow, tomorrow]
    page.post(reverse("lent-until", args=[ash.place.pk, rivets.item_id]), {"on": ""})
    assert [(row.place.name, row.due_on) for row in loans()] == [
        ("Club", tomorrow),
        ("Ash next door", None),
    ]


def test_a_day_of_an_older_loan_is_not_the_next_ones(page, rivets):
    tomorrow = timezone.localdate() + timedelta(1)
    noted(page, rivets, "lend", 5, due=tomorrow)
    noted(page, rivets, "lend", 2)
    assert [(row.quantity, row.due_on) for row in loans()] == [(7, tomorrow)]
    noted(page, rivets, "take_back", 7)
    place = DueBack.objects.get().place_id
    address = reverse("lent-until", args=[place, rivets.item_id])
    assert page.post(address, {"on": tomorrow}).status_code == 404
    noted(page, rivets, "lend", 3)
    assert [(row.quantity, row.due_on) for row in loans()] == [(3, None)]


def test_it_is_out_since_the_first_that_is_still_out(rivets, ask, now):
    place = open_place(kind=BORROWER, name="Ash")
    for day, quantity in enumerate((5, -5, 3, 4, -2)):
        book = verbs.lend if quantity > 0 else verbs.get_back
        end = {"to": place} if quantity > 0 else {"from_": place}
        when = replace(ask(), now=now + timedelta(day))
        book(bin=rivets, quantity=abs(quantity), ask=when, **end)
    (loan,) = loans()
    assert (loan.quantity, loan.since) == (5, now + timedelta(2))


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


def test_a_bins_page_names_the_loans_of_its_own_item_only(page, rivets, owner):
    other = open_bin(item=item_for_callout(text="AN3-5A"), by=owner, number=7)
    noted(page, rivets, "lend", 15)
    noted(page, other, "borrow", 4)
    assert people(rivets) == ["15 lent to Ash next door"]
    assert people(other) == ["4 borrowed from Ash next door"]
