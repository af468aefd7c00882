"""A look into a bin by its page and the first page: seen, noted, mended."""

import uuid
from dataclasses import replace
from decimal import Decimal

import pytest
from django.urls import reverse

from inventory.ledger.actions import verbs
from inventory.ledger.models import Act
from inventory.ledger.queries import flaws, quantity_in
from inventory.ledger.queries.counts import count_facts

pytestmark = pytest.mark.django_db


@pytest.fixture
def look(page, rivets):
    """What a form says of bin 12, and the page that answers."""

    def into(seen, pieces="", **other):
        sent = {"scan_id": uuid.uuid4(), "seen": seen, "pieces": pieces, **other}
        return page.post(reverse("bin-look", args=[12]), sent, follow=True)

    return into


def test_what_was_seen_is_noted_and_told_on_the_bins_page(look, rivets):
    text = look("about", "38").content.decode()
    assert "Looked into bin 12: about 38. That agrees with the record." in text
    assert "<b>looked</b>" in text
    assert ": about 38</small>" in text
    assert quantity_in(rivets) == 40
    text = look("few").content.decode()
    said = "The record said otherwise: the bin is taken to hold 12, give or take 7."
    assert said in text
    assert "<b>looked\n  12</b>" in text
    assert "looked into" in text[: text.index("A look into it")]
    assert quantity_in(rivets) == 12
    assert flaws() == []


def test_who_sees_it_empty_has_counted_it(look, rivets, ask):
    text = look("empty", "7").content.decode()
    assert "Looked into bin 12: empty. Counted: none." in text
    assert quantity_in(rivets) == 0
    assert Act.objects.latest("pk").verb == "count"
    verbs.count(bin=rivets, counted=3000, ask=ask())
    for seen in ("empty", "few"):
        assert look(seen).status_code == 409
    assert quantity_in(rivets) == 3000
    assert "agrees" in look("plenty").content.decode()


def test_it_is_taken_back_on_the_page_that_lists_it(look, page, rivets):
    look("few")
    act = Act.objects.get(verb="look")
    page.post(reverse("act-undo", args=[act.pk]), {"next": "/"})
    assert quantity_in(rivets) == 40
    (facts,) = count_facts([rivets.item_id])
    assert facts.doubt is None


@pytest.mark.parametrize(
    ("seen", "pieces", "words"),
    [
        ("about", "", "key about how many you see"),
        ("about", "0", "key about how many you see"),
        ("about", "many", "About how many"),
        ("about", "-4", "About how many"),
        ("some", "4", "Seen"),
        ("", "4", "Seen"),
    ],
)
def test_what_is_no_look_comes_back_with_what_was_keyed(
    look, rivets, seen, pieces, words
):
    answer = look(seen, pieces)
    assert answer.status_code == 400
    assert words.lower() in answer.content.decode().lower()
    assert not Act.objects.filter(verb="look").exists()


def test_plenty_of_next_to_nothing_is_asked_after(look, rivets, ask):
    verbs.count(bin=rivets, counted=20, ask=ask())
    answer = look("plenty")
    assert answer.status_code == 400
    assert "The record holds 20 there: say about how many" in answer.content.decode()


def test_a_slip_of_the_finger_is_asked_about_once_and_the_same_press_is_one(
    look, rivets
):
    scan = uuid.uuid4()
    answer = look("about", "9000", scan_id=scan)
    assert answer.status_code == 409
    text = answer.content.decode()
    assert 'value="9000"' in text
    # The tick stands where it is asked, and nowhere else.
    assert text.count('name="sure"') == 1
    assert text.index('name="sure"') < text.index("Count, pull, return, scrap")
    assert quantity_in(rivets) == 40
    for _twice in range(2):
        look("about", "9000", scan_id=scan, sure="yes")
    assert quantity_in(rivets) == 9000
    assert Act.objects.filter(verb="look").count() == 1


def test_the_first_page_asks_for_a_look_where_an_order_hangs_on_it(
    page, planned, rivets, ask
):
    """Sixty are there for thirty by a number that may be far off."""
    verbs.count(bin=rivets, counted=60, ask=replace(ask(), doubt=Decimal(18)))
    shown = page.get(reverse("home"))
    (row,) = shown.context["recounts"]
    assert (row.bin, row.counts) == (rivets, False)
    text = shown.content.decode()
    assert "Look into this bin: it may change what to order" in text
    assert reverse("bin-look", args=[12]) in text
    sent = {"scan_id": uuid.uuid4(), "seen": "about", "pieces": "90", "then": "home"}
    answer = page.post(reverse("bin-look", args=[12]), sent)
    assert answer["Location"] == reverse("home")
    assert page.get(reverse("home")).context["recounts"] == []
    assert quantity_in(rivets) == 75
