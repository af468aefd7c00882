"""Prices over the API: stated, stated anew, listed, dropped."""

import pytest

from inventory.catalog.models import Item
from inventory.catalog.queries import item_called
from inventory.ordering.models import Offer

pytestmark = pytest.mark.django_db
PACK = {
    "supplier": "Field supply",
    "callout": "MS20426AD3-3.5",
    "pack_grams": "56.70",
    "price": "4.20",
    "lead_days": 5,
    "breaks": [
        {"from_packs": 10, "price": "3.60"},
        {"from_packs": 4, "price": "3.90"},
    ],
}


@pytest.mark.slow
def test_a_price_is_stated_and_stated_anew(device, rivets):
    made = device.post("/api/v1/offers", PACK, format="json")
    assert made.status_code == 201
    assert [row["from_packs"] for row in made.json()["breaks"]] == [4, 10]
    again = device.post(
        "/api/v1/offers", {**PACK, "price": "4.50", "breaks": []}, format="json"
    )
    assert again.json()["id"] == made.json()["id"]
    device.post("/api/v1/offers", {**PACK, "their_number": "F-1"}, format="json")
    (row,) = device.get("/api/v1/offers").json()
    assert (row["their_number"], item_called("f-1")) == ("F-1", rivets.item)
    device.post(
        "/api/v1/offers", {**PACK, "price": "4.50", "breaks": []}, format="json"
    )
    (row,) = device.get("/api/v1/offers").json()
    assert (row["price"], row["breaks"], row["item"]) == (4.5, [], rivets.item_id)
    assert device.delete(f"/api/v1/offers/{row['id']}").status_code == 204
    assert not Offer.objects.exists()
    assert device.delete(f"/api/v1/offers/{row['id']}").status_code == 404


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"pack": 100}, "pieces of a pack, or its grams"),
        ({"pack_grams": 0}, "pieces of a pack, or its grams"),
        ({"breaks": [{"from_packs": 4, "price": 1}] * 2}, "start at the same count"),
    ],
)
def test_what_contradicts_itself_is_refused_in_words(device, rivets, change, words):
    answer = device.post("/api/v1/offers", {**PACK, **change}, format="json")
    assert answer.status_code in (400, 409, 422)
    assert words in answer.json()["detail"]
    assert not Offer.objects.exists()


def test_grams_of_nought_beside_the_pieces_say_nothing(device, rivets):
    body = {**PACK, "pack": 100, "pack_grams": 0}
    made = device.post("/api/v1/offers", body, format="json")
    assert made.status_code == 201, made.content
    row = Offer.objects.get()
    assert (row.pack, row.pack_grams) == (100, None)


def test_what_nobody_can_read_is_made_only_when_somebody_is_sure(device):
    for address, sent in (
        ("offers", {**PACK, "callout": "KIT-88"}),
        ("bins", {"callout": "KIT-89"}),
        (
            "orders",
            {
                "supplier": "Field supply",
                "lines": [{"callout": "KIT-90", "packs": 1, "pack_pieces": 5}],
            },
        ),
    ):
        answer = device.post(f"/api/v1/{address}", sent, format="json")
        assert (answer.status_code, answer.json()["code"]) == (409, "catalog.unread")
        assert Item.objects.filter(recognised=False).count() == 0
        sure = device.post(f"/api/v1/{address}", {**sent, "sure": True}, format="json")
        assert sure.status_code == 201
        Item.objects.filter(recognised=False).update(recognised=True)
