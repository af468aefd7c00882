"""A quantity far from what is usual is asked about once, at every door."""

import uuid

import pytest
from rest_framework.test import APIClient

from inventory.errors import Refused
from inventory.ledger.queries import quantity_in
from inventory.ledger.rules import Verb
from inventory.ordering.actions.offering import OfferTerms, price_offer
from inventory.ordering.actions.placing import AskLine, place_order, supplier_called
from inventory.ordering.models import Order
from inventory.ordering.queries.usual import checked_likely, usual_of
from inventory.planning.actions.importing import apply, preview

PLAN = b"stage,assembly,how_many,callout,each\nFin,Skin,3,MS20426AD3-3.5,150\n"


@pytest.mark.django_db
def test_usual_is_the_largest_pack_order_or_need(rivets, owner, now):
    item = rivets.item
    assert usual_of([item.pk]) == {item.pk: 0}
    supplier = supplier_called(name="Hangar supply")
    # A quarter pound of 3/32 flush rivets of 81 mg: some 1,400; computed.
    item.piece_mass_mg = 81
    item.save()
    price_offer(
        item=item,
        supplier=supplier,
        pack=(None, 113),
        terms=OfferTerms(price=None),
        by=owner,
    )
    assert usual_of([item.pk])[item.pk] in (1395, 1396)
    place_order(
        supplier=supplier,
        asks=[AskLine(item, 2, 700)],
        placed_on=now.date(),
        by=owner,
    )
    assert usual_of([item.pk]) == {item.pk: 1400}
    more = PLAN.replace(b"150", b"500")
    apply(found=preview(name="plan.csv", data=more), by=owner, now=now)
    assert usual_of([item.pk]) == {item.pk: 1500}


@pytest.mark.django_db
def test_who_is_sure_and_who_sends_again_is_not_asked(rivets, ask):
    given = {"verb": Verb.RECEIVE, "bin": rivets, "quantity": 99_999}
    with pytest.raises(Refused, match=r"99,999 of 3/32 flush.*bin 12 holds 40"):
        checked_likely(**given, sure=False, scan_id=str(uuid.uuid4()))
    checked_likely(**given, sure=True)


@pytest.mark.django_db
def test_the_pages_ask_once_and_keep_what_was_keyed(client, owner, rivets):
    client.force_login(owner)
    form = {"scan_id": str(uuid.uuid4()), "what": "borrow", "who": "Ada"}
    asked = client.post("/bins/12/lend/", {**form, "quantity": "99999"})
    said = asked.content.decode()
    assert (asked.status_code, quantity_in(rivets)) == (409, 40)
    assert "It is right" in said
    assert 'value="99999"' in said
    client.post("/bins/12/lend/", {**form, "quantity": "99999", "sure": "yes"})
    assert quantity_in(rivets) == 100_039


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("address", "asked"),
    [
        ("movements", {"verb": "count", "bin": 12, "quantity": 99_999}),
        ("receipts", {"bin": 12, "pieces": 99_999, "supplier": "Hangar supply"}),
    ],
)
def test_the_api_asks_and_answers_the_same_again(owner, rivets, address, asked):
    client = APIClient()
    client.force_login(owner)
    body = {"id": str(uuid.uuid4()), **asked}
    refused = client.post(f"/api/v1/{address}", body, format="json")
    assert (refused.status_code, refused.json()["code"]) == (409, "ledger.unlikely")
    assert quantity_in(rivets) == 40
    sure = {**body, "sure": True}
    assert client.post(f"/api/v1/{address}", sure, format="json").status_code == 201
    # The answer was lost: the same is sent again, by somebody who says no more.
    assert client.post(f"/api/v1/{address}", body, format="json").status_code == 200


@pytest.mark.django_db
def test_an_order_far_beyond_all_needs_is_asked_about(client, owner, rivets):
    client.force_login(owner)
    form = {
        "supplier": "Hangar supply",
        "placed_on": "2027-02-20",
        "line-TOTAL_FORMS": "1",
        "line-INITIAL_FORMS": "0",
        "line-0-callout": "MS20426AD3-3.5",
        "line-0-packs": "100",
        "line-0-pack_pieces": "1000",
    }
    assert client.post("/orders/new/", form).status_code == 409
    assert not Order.objects.exists()
    client.post("/orders/new/", {**form, "sure": "yes"})
    assert Order.objects.get().lines.get().packs == 100
