"""The order plan on its page and over the API; suppliers, terms and packs on theirs."""

from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from rest_framework.test import APIClient

from inventory.buying import actions as planning
from inventory.buying.models import DONE, OrderPlan
from inventory.catalog.models import Item
from inventory.ledger.queries import Bin
from inventory.ordering.actions.offering import apply, preview
from inventory.ordering.models import Offer, Order, Supplier
from inventory.ordering.rules.example import offers_example
from inventory.people.models import User
from inventory.planning.models import Stage
from tests.web.conftest import Said

PRICES = b"""supplier,callout,pack,price,lead_days,shipping,free_from
Hangar supply,,,,2,12.95,150
Hangar supply,MS20426AD3-3.5,1/4 lb,11.40,,,
Hangar supply,MS20426AD3-4,100,3.10,,,
Hangar supply,AN470AD4-5,100,4.90,,,
"""


@pytest.fixture
def priced(owner: User, planned: list[Stage]) -> None:
    """A plan whose rivets are all sold by one supplier."""
    apply(found=preview(name="p.csv", data=PRICES), by=owner)


@pytest.fixture
def plan(owner: User, priced: None) -> OrderPlan:
    """A plan that was worked out as the worker does."""
    row = planning.ask_plan(by=owner, now=timezone.now(), days_ahead=1500)
    planning.work_out(pk=row.pk)
    row.refresh_from_db()
    assert row.state == DONE
    return row


def test_asking_waits_for_the_worker_and_the_page_looks_again(
    page: Client, priced: None
) -> None:
    asked = {"days_ahead": "400", "limit": "20"}
    page.post(reverse("order-plan"), asked)
    again = page.post(reverse("order-plan"), asked)

    row = OrderPlan.objects.get()
    assert (row.state, row.days_ahead, row.limit_seconds) == ("waiting", 400, 20)
    assert again.status_code == 302
    shown = page.get(reverse("order-plan"))
    assert b'http-equiv="refresh"' in shown.content
    assert b"of at most 20 s" in shown.content

    page.post(reverse("order-plan-cancel"))

    row.refresh_from_db()
    assert row.state == "cancelled"
    assert b'http-equiv="refresh"' not in page.get(reverse("order-plan")).content


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"days_ahead": "-1"}, "Stages that start within days: "),
        ({"limit": "0"}, "Seconds allowed: "),
        ({"limit": "many"}, "Seconds allowed: "),
    ],
)
def test_odd_wishes_ask_nothing(
    page: Client, sentence: Said, change: dict[str, str], said: str
) -> None:
    asked = {"days_ahead": "60", "limit": "20", **change}

    response = page.post(reverse("order-plan"), asked)

    assert response.status_code == 400
    assert said in sentence(response)
    assert not OrderPlan.objects.exists()


@pytest.mark.slow
def test_the_page_shows_the_plan_and_orders_are_made_from_it_once(
    page: Client, plan: OrderPlan, sentence: Said
) -> None:
    shown = page.get(reverse("order-plan")).content.decode()
    assert "No plan costs less." in shown
    assert "Hangar supply" in shown
    (parcel,) = plan.found["suppliers"]
    assert all(line["words"] in shown for line in parcel["lines"])
    assert "Rudder" in shown

    made = page.post(reverse("order-plan-orders", args=[plan.pk]), follow=True)
    again = page.post(reverse("order-plan-orders", args=[plan.pk]))

    assert b"Noted as order 1. Nothing was sent" in made.content
    assert again.status_code == 409
    assert "already" in sentence(again)
    assert Order.objects.get().lines.count() == len(plan.found["suppliers"][0]["lines"])
    assert b"Orders were made from it" in page.get(reverse("order-plan")).content
    gone = page.post(reverse("order-plan-orders", args=[999]))
    assert gone.status_code == 404


@pytest.mark.slow
def test_why_there_is_no_plan_is_said(
    page: Client, owner: User, planned: list[Stage]
) -> None:
    row = planning.ask_plan(by=owner, now=timezone.now(), days_ahead=1500)
    planning.work_out(pk=row.pk)

    assert b"import a price list" in page.get(reverse("order-plan")).content


# Suppliers and packs.

TERMS = {
    "lead_days": "6",
    "shipping": "12.95",
    "hazard_fee": "0",
    "free_from": "",
    "minimum": "10",
}
PACK = {"callout": "AN470AD4-5", "pack": "1/4 lb", "price": "9.80"}


def test_a_supplier_and_its_terms_are_noted(page: Client) -> None:
    page.post(reverse("suppliers"), {"name": "Hangar supply"})
    row = Supplier.objects.get()

    page.post(reverse("supplier", args=[row.pk]), TERMS)

    row.refresh_from_db()
    assert (row.shipping, row.minimum) == (Decimal("12.95"), 10)
    assert (row.free_from, row.lead_days) == (None, 6)
    assert b"shipping 12.95" in page.get(reverse("suppliers")).content


@pytest.fixture
def hangar(page: Client) -> Supplier:
    """A supplier who sells nothing yet."""
    page.post(reverse("suppliers"), {"name": "Hangar supply"})
    return Supplier.objects.get()


def test_a_pack_is_noted_changed_and_dropped(page: Client, hangar: Supplier) -> None:
    breaks = {"from_packs": "4", "price_from": "8.60"}
    page.post(reverse("offer-new", args=[hangar.pk]), PACK | breaks)
    row = Offer.objects.get()
    assert (row.pack_grams, row.price) == (Decimal("113.40"), Decimal("9.80"))
    assert row.breaks.get().from_packs == 4
    found = reverse("offer", args=[row.pk])
    assert b'value="113.4 g"' in page.get(found).content
    assert b"8.60 from 4" in page.get(reverse("supplier", args=[hangar.pk])).content

    page.post(found, {"pack": "250", "price": "10"})

    row = Offer.objects.get()
    assert (row.pack, row.pack_grams, row.price) == (250, None, 10)
    assert not row.breaks.exists()
    page.post(reverse("offer-drop", args=[row.pk]))
    assert not Offer.objects.exists()


def test_an_item_without_a_callout_keeps_its_item(page: Client, owner: User) -> None:
    prices = "supplier,kind,size,form,pack,price\nTools,drill,#40,plain,6,9.60\n"
    apply(found=preview(name="p.csv", data=prices.encode()), by=owner)
    row = Offer.objects.get()

    page.post(reverse("offer", args=[row.pk]), {"pack": "6", "price": "8"})

    assert Offer.objects.get().price == 8
    assert Item.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"pack": "some"}, "write the pieces such as 250"),
        ({"price": ""}, "Price a pack: "),
        ({"price": "-1"}, "Price a pack: "),
        ({"price": "1e99"}, "Price a pack: "),
        ({"from_packs": "4"}, "its count and its price"),
        (
            {
                "from_packs": "4",
                "price_from": "3",
                "from_packs_2": "4",
                "price_from_2": "2",
            },
            "same count",
        ),
        ({"callout": ""}, "Callout, or name: "),
    ],
)
def test_an_odd_pack_is_not_noted(
    page: Client, hangar: Supplier, sentence: Said, change: dict[str, str], said: str
) -> None:
    response = page.post(reverse("offer-new", args=[hangar.pk]), PACK | change)

    assert response.status_code == 400
    assert said in sentence(response)
    assert not Offer.objects.exists()


@pytest.mark.slow
def test_a_price_list_is_looked_at_first_and_then_applied(page: Client) -> None:
    example = page.get(reverse("offers-example")).content
    assert example.decode() == offers_example()
    file = SimpleUploadedFile("prices.csv", example)

    looked = page.post(reverse("offers-import"), {"file": file})
    assert not Offer.objects.exists()
    page.post(reverse("offers-apply"), dict(looked.context["apply"].initial))

    assert Offer.objects.count() == 4


# The API.


@pytest.fixture
def script(owner: User) -> APIClient:
    """The owner at the API."""
    client = APIClient()
    client.force_authenticate(owner)
    return client


def test_a_plan_is_asked_for_read_and_stopped(script: APIClient, rivets: Bin) -> None:
    found = "/api/v1/order-plan"
    assert script.get(found).json()["plan"] is None

    asked = script.post(found, {"limit_seconds": 10}, format="json")

    assert asked.status_code == 202
    assert asked.json()["state"] == "waiting"
    assert asked.json()["limit_seconds"] == 10
    assert script.delete(found).json()["state"] == "cancelled"
    odd = script.post(found, {"days_ahead": -1}, format="json")
    assert odd.status_code == 400


@pytest.mark.slow
def test_the_plan_over_the_api_and_orders_from_it(
    script: APIClient, plan: OrderPlan
) -> None:
    data: dict[str, Any] = script.get("/api/v1/order-plan").json()["plan"]
    assert Decimal(data["objective"]) == plan.total
    assert Decimal(data["bound"]) <= Decimal(data["objective"])
    assert data["gap"] <= 0.001
    assert data["suppliers"][0]["lines"][0]["packs"] >= 1

    made = script.post(f"/api/v1/order-plan/{plan.pk}/orders")

    assert made.json() == {"orders": [1]}
    again = script.post(f"/api/v1/order-plan/{plan.pk}/orders")
    assert (again.status_code, again.json()["code"]) == (409, "supply.plan_ordered")
    assert script.post("/api/v1/order-plan/999/orders").status_code == 404
