"""Orders and receiving on the pages."""

import uuid
from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from inventory.catalog.queries import item_meant
from inventory.ledger.queries import Bin, Movement, bin_numbered, quantity_in
from inventory.ordering.actions.offering import change_terms
from inventory.ordering.actions.placing import AskLine, place_order, supplier_called
from inventory.ordering.models import Offer, Order, Receipt
from inventory.people.models import Shop, User
from inventory.scanning.queries import whole_shop
from tests.web.conftest import Said


def test_what_arrives_is_received_once(page: Client, order: Order) -> None:
    found = reverse("receive-line", args=[order.lines.get().pk])
    data = {"scan_id": str(uuid.uuid4()), "bin": "12", "pieces": "60", "lot": "R-1"}

    first = page.post(found, data, follow=True)
    again = page.post(found, data, follow=True)

    assert b"That is 40 short of 100." in first.content
    assert again.status_code == 200
    assert quantity_in(bin_numbered(12)) == 100
    assert Receipt.objects.get().pieces == 60


def test_more_than_ordered_is_said(page: Client, order: Order) -> None:
    found = reverse("receive-line", args=[order.lines.get().pk])
    data = {"scan_id": str(uuid.uuid4()), "bin": "12", "pieces": "103"}

    assert b"That is 3 over." in page.post(found, data, follow=True).content


def test_a_delivery_is_weighed_with_a_sample(page: Client, order: Order) -> None:
    found = reverse("receive-line", args=[order.lines.get().pk])
    data = {
        "scan_id": str(uuid.uuid4()),
        "bin": "12",
        "grams": "8.1",
        "sample_pieces": "50",
        "sample_grams": "4.05",
    }

    page.post(found, data)

    assert quantity_in(bin_numbered(12)) == 140
    assert bin_numbered(12).item.mass_is_weighed


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"pieces": ""}, "Key the pieces, or the grams"),
        ({"grams": "5"}, "not both"),
        ({"pieces": "-4"}, "Pieces counted: "),
        ({"pieces": "1e3"}, "Pieces counted: "),
        ({"bin": "99"}, "Into bin: "),
        ({"expires_on": "2027-02-30"}, "Use by: "),
        ({"scan_id": "odd"}, "form of a UUID"),
    ],
)
def test_an_odd_delivery_moves_nothing(
    page: Client, order: Order, sentence: Said, change: dict[str, str], said: str
) -> None:
    moved = Movement.objects.count()
    data = {"scan_id": str(uuid.uuid4()), "bin": "12", "pieces": "60", **change}

    response = page.post(reverse("receive-line", args=[order.lines.get().pk]), data)

    assert response.status_code == 400
    assert said in sentence(response)
    assert Movement.objects.count() == moved


def test_something_arrives_without_an_order(page: Client, rivets: Bin) -> None:
    data = {
        "scan_id": str(uuid.uuid4()),
        "supplier": "A friend",
        "bin": "12",
        "pieces": "5",
    }

    assert page.post(reverse("receive-bin", args=[12]), data).status_code == 302
    assert quantity_in(rivets) == 45
    assert Receipt.objects.get().line is None


def lines(*rows: dict[str, str]) -> dict[str, str]:
    """The rows of a new order as its form sends them."""
    found = {"line-TOTAL_FORMS": str(len(rows)), "line-INITIAL_FORMS": "0"}
    for at, row in enumerate(rows):
        found |= {f"line-{at}-{key}": value for key, value in row.items()}
    return found


def test_an_order_is_noted_with_its_lines(page: Client) -> None:
    head = {"supplier": "Hangar supply", "placed_on": "2027-03-01"}
    rows = lines(
        {"callout": "AN470AD4-5", "packs": "2", "pack_pieces": "250"},
        {},
        {"callout": "MS20426AD3-3.5", "packs": "1", "pack_grams": "113.4"},
    )

    response = page.post(reverse("order-new"), head | rows, follow=True)

    assert b"Order 1 is noted" in response.content
    assert Order.objects.get().lines.count() == 2


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({}, "no lines"),
        ({"callout": "AN470AD4-5", "packs": "2"}, "How many pieces"),
        ({"callout": "AN470AD4-5", "packs": "0", "pack_pieces": "5"}, "1 to 10,000"),
        ({"callout": "AN470AD4-5", "packs": "x", "pack_pieces": "5"}, "Packs: "),
    ],
)
def test_an_order_that_asks_nothing_is_not_noted(
    page: Client, sentence: Said, row: dict[str, str], said: str
) -> None:
    head = {"supplier": "Hangar supply", "placed_on": "2027-03-01"}

    response = page.post(reverse("order-new"), head | lines(row))

    assert response.status_code == 400
    assert said in sentence(response)
    assert b'value="Hangar supply"' in response.content
    assert not Order.objects.exists()


@pytest.mark.slow
def test_a_line_is_no_longer_waited_for(page: Client, order: Order) -> None:
    assert b"still to come" in page.get(reverse("order", args=[1])).content

    page.post(reverse("line-drop", args=[order.lines.get().pk]))

    assert b"no longer waited for" in page.get(reverse("order", args=[1])).content
    assert b"Nothing is on order" in page.get(reverse("orders")).content


def test_an_order_is_expected_on_another_day(
    page: Client, order: Order, sentence: Said
) -> None:
    found = reverse("order-expect", args=[1])

    page.post(found, {"on": "2027-03-09"})
    early = page.post(found, {"on": "2027-01-01"})

    assert "before the order was placed" in sentence(early)
    assert Order.objects.get().expected_on == date(2027, 3, 9)


def test_a_supplier_has_a_web_address_and_the_shops_number_there(page, order):
    address = f"/suppliers/{order.supplier_id}/"
    terms = {"shipping": "0", "hazard_fee": "0", "minimum": "0"}
    for wrong in ("javascript:alert(1)", "ftp://rivets.example", "no address"):
        refused = page.post(address, {**terms, "web": wrong, "account": "K 77"})
        assert refused.status_code == 400
        assert "K 77" in refused.content.decode()
    page.post(address, {**terms, "web": "rivets.example", "account": "K 77"})
    seen = page.get(address).content.decode()
    assert '<a href="https://rivets.example" rel="noopener noreferrer">' in seen
    assert "your number there: <b>K 77</b>" in seen


def test_a_shopping_list_has_their_numbers_prices_and_terms(
    page: Client, order: Order, rivets: Bin, owner: User
) -> None:
    """Two packs of 50 at 4.10, from two packs 3.90: 7.80, and 12.95 for shipping."""
    change_terms(
        supplier=order.supplier,
        changes={
            "shipping": Decimal("12.95"),
            "free_from": Decimal(50),
            "minimum": Decimal(20),
            "account": "C-77",
        },
        by=owner,
    )
    place = reverse("offer-new", args=[order.supplier_id])
    given = {"callout": rivets.item.callout, "pack": "50", "price": "4.10"}
    given |= {"from_packs": "2", "price_from": "3.90", "their_number": "HS 1-0044"}
    page.post(place, given)
    Shop.objects.update(currency="EUR")
    text = page.get(reverse("shopping-list", args=[order.number])).content.decode()
    for said in ("HS 1-0044", "C-77", "7.80", "12.20 EUR under the smallest order"):
        assert said in text
    assert "<b>20.75</b> EUR" in text
    assert f"HS 1-0044\t2 x 50\t{rivets.item.title}" in text
    csv = page.get(reverse("shopping-csv", args=[order.number])).content.decode()
    assert csv.splitlines()[1].startswith("HS 1-0044,")
    assert csv.splitlines()[1].endswith(",2,50,3.90,7.80")


def test_a_suppliers_orders_are_one_list_and_the_same_pack_one_line(
    page: Client, order: Order, rivets: Bin, owner: User
) -> None:
    """Two packs and one make three: 3.90 each from two on, so 11.70."""
    place = reverse("offer-new", args=[order.supplier_id])
    given = {"callout": rivets.item.callout, "pack": "50", "price": "4.10"}
    given |= {"from_packs": "3", "price_from": "3.90", "their_number": "HS 1-0044"}
    page.post(place, given)
    other = supplier_called(name="Hollow Oak")
    for supplier in (order.supplier, other):
        place_order(
            supplier=supplier,
            asks=[AskLine(rivets.item, packs=1, pack_pieces=50)],
            placed_on=order.placed_on,
            by=owner,
        )
    address = reverse("supplier-list", args=[order.supplier_id])
    text = page.get(address).content.decode()
    assert f"HS 1-0044\t3 x 50\t{rivets.item.title}" in text
    csv = page.get(reverse("supplier-csv", args=[order.supplier_id])).content.decode()
    assert csv.splitlines()[1].endswith(",3,50,3.90,11.70")
    assert len(csv.splitlines()) == 2
    page.post(reverse("line-drop", args=[order.lines.get().pk]))
    csv = page.get(reverse("supplier-csv", args=[order.supplier_id])).content.decode()
    assert csv.splitlines()[1].endswith(",1,50,4.10,4.10")
    address = reverse("supplier-list", args=[other.pk])
    assert "1 line without a price" in page.get(address).content.decode()


def test_a_line_without_an_offer_says_so_and_one_not_waited_for_is_gone(
    page: Client, order: Order
) -> None:
    address = reverse("shopping-list", args=[order.number])
    text = page.get(address).content.decode()
    assert "1 line without a price" in text
    page.post(reverse("line-drop", args=[order.lines.get().pk]))
    order.supplier.shipping = Decimal("12.95")
    order.supplier.save()
    text = page.get(address).content.decode()
    assert "Nothing of this order is waited for." in text
    assert "<b>0.00</b>" in text


def test_what_has_come_is_not_asked_for_again(page: Client, order: Order) -> None:
    line = order.lines.get()
    data = {"scan_id": str(uuid.uuid4()), "bin": "12", "pieces": "60"}
    page.post(reverse("receive-line", args=[line.pk]), data)
    address = reverse("shopping-list", args=[order.number])
    assert line.item.words in page.get(address).content.decode()
    data = {"scan_id": str(uuid.uuid4()), "bin": "12", "pieces": "40"}
    page.post(reverse("receive-line", args=[line.pk]), data)
    assert "Nothing of this order is waited for." in page.get(address).content.decode()


def test_their_number_names_the_item_and_never_another(
    page: Client, order: Order, rivets: Bin
) -> None:
    place = reverse("offer-new", args=[order.supplier_id])
    given = {"callout": rivets.item.callout, "pack": "50", "price": "4.10"}
    for number, item in (("ms20470ad4-5", "1/8 universal, 5/16 long"), ("HS-9", "")):
        answer = page.post(place, {**given, "their_number": number})
        if item:
            assert answer.status_code == 409
            assert f"means {item}" in answer.content.decode()
            assert not Offer.objects.exists()
    assert item_meant("hs-9") == rivets.item
    assert whole_shop()["names"]["HS-9"] == rivets.item_id
    given = {**given, "callout": "AN470AD4-5", "their_number": "HS-9"}
    answer = page.post(place, given)
    assert (answer.status_code, Offer.objects.count()) == (409, 1)
    page.post(place, {**given, "their_number": "AN470AD4-5"})
    assert Offer.objects.count() == 2
