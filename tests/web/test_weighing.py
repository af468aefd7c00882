"""A bin counted by weight, from the page to the ledger."""

import pytest
from django.urls import reverse

from inventory.ledger.queries import quantity_in
from inventory.ledger.queries.counts import count_facts

pytestmark = pytest.mark.django_db
# 1/8 universal of 227 mg (computed on remembered dimensions): 300 of them. With a
# coefficient of variation of .01 a piece the variances add up (GUM, JCGM 100:2008, 5.1):
# sd^2 = .0001 (300 + 300^2/100) + .18^2 + 3^2 .18^2 = .67^2.
TIN = {
    "pieces": "100",
    "grams": "22.7",
    "gross": "98.1",
    "tare": "30.0",
    "division": "0.1",
}


@pytest.fixture
def page(client, owner, rivets):
    client.force_login(owner)
    return reverse("bin-weigh", args=[rivets.number])


def test_the_answer_is_shown_with_its_doubt_before_anything_is_booked(
    client, page, rivets
):
    said = client.post(page, TIN).content.decode()
    assert "299 to 301 pieces" in said
    assert "Book 300 as counted" in said
    assert "never that it is unmixed" in said
    assert quantity_in(rivets) == 40


def test_booking_counts_the_bin_and_keeps_the_doubt_and_the_tare(client, page, rivets):
    client.post(page, {**TIN, "book": "yes"})
    assert quantity_in(rivets) == 300
    (facts,) = count_facts([rivets.item_id])
    assert facts.doubt == pytest.approx(0.67, abs=0.01)
    rivets.refresh_from_db()
    assert rivets.tare_g == 30
    assert "30.00" in client.get(page).content.decode()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"gross": "20"}, "a gross mass of the tare or more"),
        ({"pieces": "0"}, "Pieces in the sample"),
        ({"grams": "0"}, "a sample of 1 piece or more"),
        ({"division": "0"}, "division"),
        ({"gross": "heavy"}, "The full tin weighs"),
    ],
)
def test_bad_weights_come_back_with_a_sentence(client, page, rivets, change, words):
    answer = client.post(page, {**TIN, **change, "book": "yes"})
    assert answer.status_code == 400
    assert words in answer.content.decode()
    assert quantity_in(rivets) == 40
