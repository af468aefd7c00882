"""Drawings at true size: as large on a screen as the thing itself, once a card lay on it.

A card's short side is 53.98 mm (ISO/IEC 7810, ID-1).
"""

import pytest
from playwright.sync_api import expect

from inventory.trade import codes
from inventory.trade.callouts import parse
from inventory.trade.outlines import outline_of
from tests.browser import open_page
from tests.scanning.stories import code_of, furnish

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]
RIVET = "AN470AD4-5"


@pytest.fixture
def page(live_server, owner, ask, now):
    furnish(owner, ask, now)
    with open_page(live_server, owner) as page:
        yield page


def lay_card(page, server, dots):
    """Somebody makes the bar as long as the card's short side looks on this screen."""
    page.goto(f"{server.url}/me/")
    page.locator("#card-length").fill(str(dots - 1))
    page.get_by_role("button", name="Longer").click()
    assert page.locator("#card-bar").bounding_box()["width"] == dots
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator("#card-said")).to_contain_text("Kept")
    return dots / 53.98 * 25.4


def wide(page):
    """How many dots the largest outline on the page has across."""
    return page.locator(".drawing polygon").first.bounding_box()["width"]


def test_a_rivet_is_as_large_as_it_is(page, live_server):
    rivet = f"{live_server.url}/lookup/callout/?text={RIVET}"
    page.goto(rivet)
    large = wide(page)
    press = page.get_by_role("button", name="True size")
    expect(press).to_have_count(0)
    to_an_inch = lay_card(page, live_server, 301)
    page.goto(rivet)
    press.click()
    expected = outline_of(parse(RIVET)).width_in * to_an_inch
    assert wide(page) == pytest.approx(expected, abs=2)
    scale = page.locator(".drawing .scale")
    expect(scale).to_have_text("true size on this screen")
    page.get_by_role("button", name="As it was").click()
    expect(scale).to_have_text("about 6 times size")
    assert wide(page) == large > 2 * expected
    lay_card(page, live_server, 150)
    page.goto(rivet)
    press.click()
    assert wide(page) == pytest.approx(expected * 150 / 301, abs=2)
    page.goto(f"{live_server.url}/me/")
    expect(page.locator("#card-length")).to_have_value("150")
    page.get_by_role("button", name="Forget it").click()
    page.goto(rivet)
    expect(press).to_have_count(0)


def test_the_wrong_tin_and_the_right_one_are_shown_at_true_size(page, live_server):
    to_an_inch = lay_card(page, live_server, 286)
    page.goto(f"{live_server.url}/bench/")
    page.wait_for_selector("[data-ready]")
    for code in (code_of("sheet"), codes.make("B", 14)):
        page.keyboard.type(code, delay=3)
        page.keyboard.press("Enter")
        page.wait_for_timeout(850)
    page.get_by_role("button", name="True size").click()
    box = page.locator("#pair svg").bounding_box()
    units = page.locator("#pair svg").evaluate("(each) => each.viewBox.baseVal.width")
    assert box["width"] == pytest.approx(units / 1000 * to_an_inch, abs=1)
    page.keyboard.type(codes.make("B", 12), delay=3)
    page.keyboard.press("Enter")
    expect(page.locator("#pending-count")).to_have_text("30")
