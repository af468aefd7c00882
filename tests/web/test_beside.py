"""On a desk a list stands beside each page: from one to the next without going back."""

import re
from datetime import date

import pytest
from django.urls import reverse

from inventory.catalog.actions import item_for_callout
from inventory.catalog.queries import things_around
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.queries import bins_around
from inventory.ordering.actions.placing import AskLine, place_order, supplier_called
from inventory.ordering.queries import orders_around
from tests.browser import PHONE, open_page

pytestmark = pytest.mark.django_db


def listed(page, name, key):
    """(address, is it this page) of the list beside a page."""
    text = page.get(reverse(name, args=[key])).content.decode()
    beside = text.partition('<aside class="beside')[2].partition("</aside>")[0]
    rows = beside.partition("<ul")[2]
    return re.findall(r'href="([^"]+)"( aria-current="page")?', rows)


@pytest.fixture
def bins(owner, rivets):
    """Bins 3, 12 and 40; 41 is retired by nobody."""
    item = item_for_callout(text="MS20426AD3-4")
    return [open_bin(item=item, by=owner, number=number) for number in (3, 40)]


def test_a_bins_neighbours_by_number_it_among_them(page, bins):
    found = listed(page, "bin", 12)
    assert [where for where, _here in found] == [
        reverse("bin", args=[number]) for number in (3, 12, 40)
    ]
    assert [bool(here) for _where, here in found] == [False, True, False]
    assert [each.number for each in bins_around(12, 0, 1)] == [12]
    assert [each.number for each in bins_around(40, 1, 5)] == [12, 40]


def test_a_retired_bin_still_has_its_neighbours(page, owner, bins, ask):
    page.post(reverse("bin-retire", args=[40]))
    assert [where for where, _here in listed(page, "bin", 40)] == [
        reverse("bin", args=[number]) for number in (3, 12)
    ]


def test_an_items_like_are_of_its_kind_and_diameter(page, rivets, bins):
    item_for_callout(text="MS20426AD4-4")
    other = bins[0].item
    assert set(things_around(other, 9, 9)) == {other, rivets.item}
    for each in (other, rivets.item):
        assert things_around(each, 0, 1) == [each]
    assert len(listed(page, "item", other.pk)) == 2


def test_orders_the_newest_first(page, owner, order):
    newer = place_order(
        supplier=supplier_called(name="Fernhollow Fasteners"),
        asks=[AskLine(order.lines.get().item, 1, 50)],
        placed_on=date(2027, 2, 21),
        by=owner,
    )
    both = [newer.number, order.number]
    assert [each.number for each in orders_around(order.number, 5, 5)] == both
    assert [each.number for each in orders_around(newer.number, 5, 1)] == both[:1]
    assert [bool(here) for _at, here in listed(page, "order", order.number)] == [
        False,
        True,
    ]


def test_suppliers_stages_and_assemblies(page, order, spar):
    for name, row, count in (
        ("supplier", order.supplier, 1),
        ("stage", spar.stage, 2),
        ("assembly", spar, 2),
    ):
        found = listed(page, name, row.pk)
        assert len(found) == count, name
        assert [where for where, here in found if here] == [
            reverse(name, args=[row.pk])
        ]


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_it_shows_on_a_desk_and_not_on_a_phone(live_server, owner, bins):
    where = live_server.url + reverse("bin", args=[12])
    for size, shown in ((PHONE, False), ({"width": 1440, "height": 900}, True)):
        with open_page(live_server, owner, size=size) as page:
            page.goto(where)
            assert page.locator(".beside").is_visible() == shown
            left = page.locator("h1").bounding_box()["x"]
            assert (left > 300) == shown
