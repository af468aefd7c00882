"""Every page in a real browser: nothing that hinders people, no error, no sideways scroll.

What hinders people is judged by axe-core's rules (WCAG 2.2 A and AA among them).
"""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Error

from inventory.planning.actions.working import place_to_pull_for
from tests.browser import PHONE, open_page
from tests.web.test_doors import address, pages

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]
DESK = {"width": 1280, "height": 900}
ASSEMBLY_PAGES = (
    "assembly",
    "close-up",
    "assembly-plan",
    "assembly-record",
    "assembly-sheet",
)
# What leads elsewhere is looked at there.
ELSEWHERE = {"label", "label-small", "sign-in"}


@pytest.fixture
def addresses(owner, now, order, spar):
    """Every page's name and address in a shop that has something on each."""
    place_to_pull_for(assembly=spar, by=owner, now=now)
    item = order.lines.get().item_id
    numbers = {
        "stage": spar.stage_id,
        "item": item,
        "item-why": item,
        "item-run-out": item,
        **dict.fromkeys(
            ("supplier", "supplier-list", "supplier-csv"), order.supplier_id
        ),
        **dict.fromkeys(("order", "shopping-list", "shopping-csv"), order.number),
        "help": "bench",
        "receive-line": order.lines.get().pk,
        **dict.fromkeys(ASSEMBLY_PAGES, spar.pk),
    }
    return [
        (
            name,
            reverse(name, args=[numbers[name]]) if name in numbers else address(name),
        )
        for name in pages()
        if name not in ELSEWHERE
    ]


def opened(page, where):
    """Whether an address is a page: pictures and downloads are none."""
    try:
        answer = page.goto(where)
    except Error as error:
        if "Download is starting" in str(error):
            return False
        raise
    return answer.headers.get("content-type", "").startswith("text/html")


def faults(page, width):
    """What hinders people on the page that is open."""
    if page.locator("#bench").count():
        page.wait_for_selector("[data-ready]")
    wide = page.evaluate("document.documentElement.scrollWidth")
    if wide > width:
        yield f"{wide} px wide"
    for each in Axe().run(page).response["violations"]:
        if each["impact"] in ("serious", "critical"):
            yield each["id"], each["nodes"][0]["html"][:120], len(each["nodes"])


SHEET = {"width": 794, "height": 1123}  # A4 at 96 dots an inch: ISO 216 (from memory)


def on_paper(page):
    """What a printed page cuts off, or shows that nobody can press there."""
    page.emulate_media(media="print")
    page.set_viewport_size(SHEET)
    wide = page.evaluate("document.documentElement.scrollWidth")
    if wide > SHEET["width"]:
        yield f"{wide} px wide on paper"
    pressed = page.locator("button, .button, .beside, header.top, .says")
    yield from (each.inner_text() for each in pressed.all() if each.is_visible())
    page.set_viewport_size(DESK)
    page.emulate_media(media="screen")


@pytest.mark.parametrize(
    ("size", "light"),
    [(PHONE, "dark"), (DESK, "light")],
    ids=["phone in the dark", "desk in the light"],
)
def test_no_page_hinders_anybody(live_server, owner, addresses, size, light):
    found, noise = {}, []
    looked_at = 0
    with open_page(live_server, owner, size=size) as page:
        page.on(
            "console", lambda said: noise.append(said) if said.type == "error" else 0
        )
        page.on("pageerror", lambda error: noise.append(error))
        for name, where in addresses:
            if opened(page, live_server.url + where):
                looked_at += 1
                wrong = [*faults(page, size["width"]), *(str(each) for each in noise)]
                if size == DESK:
                    wrong += on_paper(page)
                found |= {name: wrong} if wrong else {}
            noise.clear()
    assert found == {}
    assert looked_at > len(addresses) * 2 / 3


TWICE = ("--blink-settings=defaultFontSize=32",)


def test_letters_twice_as_large_push_nothing_beside_the_page(
    live_server, owner, addresses
):
    """On a desk and on a phone. Source: WCAG 2.2, 1.4.4 and 1.4.10."""
    beside = []
    with open_page(live_server, owner, size=DESK, flags=TWICE) as page:
        for name, where in addresses:
            if not opened(page, live_server.url + where):
                continue
            size = page.evaluate("getComputedStyle(document.documentElement).fontSize")
            assert size == "36px"
            for each in (DESK, PHONE):
                page.set_viewport_size(each)
                wide = page.evaluate("document.documentElement.scrollWidth")
                if wide > each["width"]:
                    beside.append((name, each["width"], wide))
    assert beside == []
