"""What a person sees at once: the first page's letters apart, the phone's bench on one screen."""

import pytest
from playwright.sync_api import expect

from inventory.catalog.actions import item_for_callout
from inventory.ordering.queries import still_owed
from inventory.planning.actions.importing import apply, preview
from inventory.planning.models import Assembly, Need
from inventory.trade import codes
from tests.browser import open_page
from tests.scanning.stories import code_of, furnish

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]
SMALL = {"width": 360, "height": 640}
# A person in gloves: the least height of what is pressed at the bench, in CSS pixels.
TARGET = 56

# Pairs of lines of text that lie on each other, in their words.
OVERLAPS = """() => {
  const lines = [];
  const walker = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const range = document.createRange();
    range.selectNodeContents(node);
    const shown = node.textContent.trim() && node.parentElement.checkVisibility()
      && !node.parentElement.closest(".sr, details:not([open]), select, option");
    if (shown) for (const box of range.getClientRects()) lines.push([node.textContent.trim(), box]);
  }
  const over = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1
    && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 4;
  return lines.flatMap(([words, box], at) => lines.slice(at + 1)
    .filter(([, other]) => over(box, other)).map(([other]) => [words, other]));
}"""
PLAN = b"""stage,start,assembly,callout,each
Left outboard wing leading edge skins,2027-03-20,Spar,MS20426AD3-3.5,300
Right outboard wing leading edge skins,2028-05-20,Skin,MS20426AD3-3.5,12
Rudder,2029-11-02,Frame,AN470AD4-5,55
"""


@pytest.fixture
def planned(owner, rivets, now):
    apply(found=preview(name="plan.csv", data=PLAN), by=owner, now=now)


@pytest.mark.parametrize("width", [360, 768, 1280])
def test_no_letters_lie_on_others_and_nothing_runs_off(
    live_server, owner, planned, width
):
    with open_page(live_server, owner, size={"width": width, "height": 800}) as page:
        page.goto(f"{live_server.url}/")
        expect(page.locator(".road-row")).to_have_count(4)
        assert page.evaluate(OVERLAPS) == []
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide == width
        head = page.locator("h1").bounding_box()
        assert head["y"] + head["height"] < 400


@pytest.fixture
def phone(live_server, owner, ask, now):
    furnish(owner, ask, now)
    with open_page(live_server, owner, size=SMALL, has_touch=True) as page:
        page.goto(f"{live_server.url}/bench/")
        page.wait_for_selector("[data-ready]")
        yield page


def hear(page, code):
    page.wait_for_timeout(850)
    page.keyboard.type(code, delay=3)
    page.keyboard.press("Enter")


def above_the_bar(page, *names):
    """Whether all of these are on the screen, above the thumb's bar, unscrolled."""
    bar = page.locator(".ends").bounding_box()
    boxes = [page.locator(name).bounding_box() for name in names]
    inside = [0 <= box["y"] <= bar["y"] + 2 - box["height"] for box in boxes]
    return all(inside) and page.evaluate("scrollY") == 0


def test_a_number_is_read_keyed_and_confirmed_on_one_screen(phone):
    assert phone.locator("#pad").is_hidden()
    hear(phone, codes.make("B", 12))
    expect(phone.locator("#pending-count")).to_have_text("how many?")
    assert above_the_bar(phone, "#flash", "#pending", "#pad")
    for name in ("Confirm", "Cancel", "Undo last"):
        button = phone.get_by_role("button", name=name, exact=True).bounding_box()
        assert button["height"] >= TARGET
        assert button["y"] + button["height"] <= SMALL["height"]
    assert phone.locator("[data-digit='2']").bounding_box()["height"] >= TARGET
    assert phone.locator("header.top").bounding_box()["height"] <= TARGET

    phone.locator("[data-digit='2']").tap()
    phone.get_by_role("button", name="Confirm", exact=True).tap()
    expect(phone.locator("#flash-words")).to_contain_text("Pulled 2")
    assert phone.locator("#pad").is_hidden()
    assert above_the_bar(phone, "#flash")
    phone.get_by_role("button", name="Undo last", exact=True).tap()
    expect(phone.locator("#flash-words")).to_contain_text("taken back")


def test_what_the_plan_asks_needs_no_number(phone):
    hear(phone, code_of("sheet"))
    expect(phone.locator("#flash-words")).to_contain_text("Working on")
    hear(phone, codes.make("B", 12))
    expect(phone.locator("#pending-count")).to_have_text("30")
    assert above_the_bar(phone, "#flash", "#pending")
    assert phone.locator("#pad").is_hidden()
    phone.get_by_role("button", name="Another number").tap()
    phone.locator("[data-digit='4']").tap()
    phone.get_by_role("button", name="Confirm", exact=True).tap()
    expect(phone.locator("#flash-words")).to_contain_text("Pulled 4")
    assert phone.locator("#pad").is_hidden()


def test_a_number_that_was_cancelled_is_never_meant_for_the_next_bin(phone):
    hear(phone, codes.make("B", 13))
    phone.locator("[data-digit='7']").tap()
    expect(phone.locator("#pad-value")).to_have_text("7")
    phone.get_by_role("button", name="Cancel", exact=True).tap()
    expect(phone.locator("#pending")).to_be_hidden()
    hear(phone, code_of("sheet"))
    expect(phone.locator("#flash-words")).to_contain_text("Working on")
    hear(phone, codes.make("B", 12))
    expect(phone.locator("#pending-count")).to_have_text("30")
    phone.get_by_role("button", name="Confirm", exact=True).tap()
    expect(phone.locator("#flash-words")).to_contain_text("Pulled 30")


def test_what_the_assembly_asks_for_is_one_move_away(phone):
    assert phone.locator("#asks-link").is_hidden()
    phone.keyboard.type(code_of("sheet"), delay=3)
    phone.keyboard.press("Enter")
    phone.locator("#asks-link").tap()
    expect(phone.locator("#asks-title")).to_be_in_viewport()


def test_what_no_bin_holds_has_a_way_on(phone):
    item = item_for_callout(text="AN470AD4-6")
    skin = Assembly.objects.get(name="Skin")
    Need.objects.create(assembly=skin, item=item, callout="AN470AD4-6", each=4)
    hear(phone, code_of("sheet"))
    row = phone.locator("#asks li", has_text="AN470AD4-6")
    expect(row).to_contain_text("no bin")
    expect(row.get_by_role("link", name="Order it")).to_be_visible()
    row.get_by_role("link", name="Make a bin").tap()
    expect(phone.locator("[name=callout]")).to_have_value(item.callout)


def test_what_was_seen_and_closed_stays_closed_when_the_server_says_it_too(phone):
    hear(phone, code_of("sheet"))
    expect(phone.locator("#unsent-words")).to_have_text("All on the server")
    held = []
    phone.route("**/scans", lambda route: held.append(route))
    hear(phone, codes.make("B", 14))
    expect(phone.locator("#loud")).to_be_visible()
    phone.get_by_role("button", name="Seen").tap()
    while not held:
        phone.wait_for_timeout(20)
    held.pop().continue_()
    expect(phone.locator("#unsent-words")).to_have_text("All on the server")
    expect(phone.locator("#flash-words")).to_contain_text("does not ask for")
    assert phone.locator("#loud").is_hidden()


def test_the_keys_stand_still_while_a_scan_is_on_its_way(phone):
    hear(phone, codes.make("C", 5))
    hear(phone, codes.make("B", 20))
    expect(phone.locator("#unsent-words")).to_have_text("All on the server")
    held = []
    phone.route("**/scans", lambda route: held.append(route))
    phone.get_by_role("button", name="Order 2: 20").tap()
    while not held:
        phone.wait_for_timeout(20)
    expect(phone.locator("#unsent-words")).to_contain_text("1 not sent")
    key = phone.locator("[data-digit='0']")
    under_the_thumb = key.bounding_box()
    assert above_the_bar(phone, "#flash", "#which", "[data-digit='0']", "#pad-set")
    held.pop().continue_()
    expect(phone.locator("#unsent-words")).to_have_text("All on the server")
    assert key.bounding_box() == under_the_thumb
    expect(phone.locator("#unsent")).to_be_hidden()
    phone.locator("[data-digit='9']").tap()
    phone.get_by_role("button", name="Confirm", exact=True).tap()
    expect(phone.locator("#unsent")).to_be_visible()


def test_the_orders_that_wait_are_chosen_with_the_thumb(phone):
    hear(phone, codes.make("C", 5))
    hear(phone, codes.make("B", 20))
    expect(phone.locator("#which")).to_contain_text("Order 1: 20, Reed & Daughters")
    expect(phone.locator("#unsent-words")).to_have_text("All on the server")
    second = phone.get_by_role("button", name="Order 2: 20")
    assert second.bounding_box()["height"] >= TARGET - 8
    assert above_the_bar(phone, "#flash", "#pending", "#which button >> nth=-1")
    second.tap()
    expect(second).to_have_attribute("aria-pressed", "true")
    assert above_the_bar(phone, "#flash", "#which", "[data-digit='0']", "#pad-set")
    phone.locator("[data-digit='9']").tap()
    phone.get_by_role("button", name="Confirm", exact=True).tap()
    expect(phone.locator("#flash-words")).to_contain_text("For order 2. That is 11")
    assert [row.pieces for row in still_owed()] == [40, 20, 11]
    assert phone.locator("#which").is_hidden()
