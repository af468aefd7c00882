"""The pages by keys alone: the search, the help, along a list."""

import pytest
from playwright.sync_api import expect

from inventory.catalog.actions import item_for_callout
from inventory.ledger.actions.bins import open_bin
from tests.browser import open_page

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]
DESK, SMALL = {"width": 1280, "height": 900}, {"width": 360, "height": 640}


def test_a_bin_is_found_by_keys_alone(live_server, owner, rivets):
    open_bin(item=item_for_callout(text="MS20426AD3-4"), by=owner, number=13)
    with open_page(live_server, owner, size=DESK) as page:
        page.goto(f"{live_server.url}/orders/")
        page.keyboard.press("/")
        page.keyboard.type("flush 3/32")
        page.keyboard.press("Enter")
        first = page.get_by_role("link", name="bin 12: 3/32 flush")
        first.focus()
        page.keyboard.press("ArrowDown")
        expect(page.get_by_role("link", name="bin 13: 3/32 flush")).to_be_focused()
        page.keyboard.press("ArrowUp")
        page.keyboard.press("ArrowUp")
        expect(first).to_be_focused()
        page.keyboard.press("Enter")
        expect(page.locator("h1")).to_have_text("3/32 flush, 7/32 long")
        # What is typed into a field is no key of the page.
        page.get_by_label("Spot").fill("rack /?")
        expect(page.get_by_label("Spot")).to_have_value("rack /?")
        page.get_by_label("Spot").press("?")
        expect(page.locator("h1")).to_have_text("3/32 flush, 7/32 long")
        page.locator("h1").click()
        page.keyboard.press("?")
        expect(page).to_have_url(f"{live_server.url}/help/bin/")


def test_on_a_phone_the_key_leads_to_the_search_page(live_server, owner, rivets):
    with open_page(live_server, owner, size=SMALL) as page:
        page.goto(f"{live_server.url}/bins/")
        page.keyboard.press("/")
        expect(page.locator("h1")).to_have_text("Find")
        expect(page.locator("#q")).to_be_focused()
