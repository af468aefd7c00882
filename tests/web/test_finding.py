"""One search finds bins, items, assemblies, orders, lots, suppliers, people, what is late."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from inventory.catalog.actions import item_for_callout
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import lot_of, open_bin, open_place
from inventory.ledger.models import DueBack
from inventory.ledger.rules import BORROWER
from inventory.people.models import User
from inventory.planning.models import Assembly
from inventory.web.finding import found

pytestmark = pytest.mark.django_db
TODAY = date(2027, 3, 1)


def hits(text, today=TODAY):
    return {each.name: [hit.words for hit in each.hits] for each in found(text, today)}


@pytest.fixture
def shop(rivets, order, planned, owner):
    bin = open_bin(
        item=item_for_callout(text="AN3-5A"), by=owner, number=7, spot="door"
    )
    lot_of(item=rivets.item, name="K-9", paper="C 4711")
    User.objects.create_user("ondine", first_name="Ondine")
    return bin


@pytest.mark.parametrize(
    ("text", "group", "words"),
    [
        ("3/32 flush 7/32", "Bins", ["bin 12: 3/32 flush, 7/32 long"]),
        ("flush rivet", "Items", ["3/32 flush, 7/32 long", "3/32 flush, 1/4 long"]),
        ("ad3-3.5", "Items", ["3/32 flush, 7/32 long"]),
        ("door", "Bins", ["bin 7: 3/16 bolt, 21/32 long, plain shank"]),
        ("fin spar", "Assemblies", ["Fin / Spar"]),
        ("h-17", "Orders", ["order 1: Hangar supply"]),
        ("1", "Orders", ["order 1: Hangar supply"]),
        ("hangar", "Suppliers", ["Hangar supply"]),
        ("k-9", "Lots", ["lot K-9"]),
        ("4711", "Lots", ["lot K-9"]),
        ("ondi", "People", ["Ondine"]),
    ],
)
def test_words_find_what_they_mean(shop, text, group, words):
    assert hits(text)[group] == words


def test_what_fits_nothing_says_so_and_nothing_is_asked_of_nothing(shop, page):
    assert found("", TODAY) == found("zzz", TODAY) == []
    said = page.get("/find/", {"q": "<b>zzz"}).content.decode()
    assert "Nothing here fits '&lt;b&gt;zzz'" in said
    assert "a person; or 'late'" in page.get("/find/").content.decode()


def test_late_is_what_is_past_its_day(shop, order, rivets, ask):
    day = order.expected_on
    assert hits("late", day) == {}
    ash = open_place(kind=BORROWER, name="Ash next door")
    verbs.lend(bin=rivets, quantity=5, to=ash, ask=ask())
    yesterday = timezone.localdate() - timedelta(days=1)
    DueBack.objects.create(place=ash, item=rivets.item, due_on=yesterday)
    (late,) = found("overdue", day + timedelta(days=1))
    assert [hit.words for hit in late.hits] == [
        "order 1: 3/32 flush, 7/32 long",
        "5 lent to Ash next door",
    ]


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("bin 12", "/bins/12/"),
        ("order 1", "/orders/1/"),
        ("XB001202", "/bins/12/"),
    ],
)
def test_a_code_a_bin_and_an_order_are_gone_to(shop, page, text, place):
    assert page.get("/find/", {"q": text})["Location"] == place


@pytest.mark.parametrize("text", ["bin 99", "order 99", "no order", "XB009975"])
def test_what_no_page_is_of_is_said_not_gone_to(shop, page, text):
    assert (
        f"Nothing here fits '{text}'"
        in page.get("/find/", {"q": text}).content.decode()
    )


def test_each_find_leads_to_its_page(shop, page):
    for text in ("flush", "fin", "hangar", "k-9", "ondine"):
        answer = page.get("/find/", {"q": text})
        for group in answer.context["groups"]:
            for hit in group.hits:
                where = f'href="/{"acts" if hit.page == "acts" else ""}'
                assert where in answer.content.decode()
    spar = Assembly.objects.get(name="Spar")
    said = page.get("/find/", {"q": "fin spar"}).content.decode()
    assert f'href="/assemblies/{spar.pk}/"' in said
    assert (
        f'href="/acts/?by={User.objects.get(username="ondine").pk}"'
        in page.get("/find/", {"q": "ondine"}).content.decode()
    )
