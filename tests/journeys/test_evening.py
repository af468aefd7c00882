"""The evening at the bench in a real browser, and the same through HTTP."""

import pytest
from playwright.sync_api import Page, expect

from inventory.ledger import queries
from inventory.planning.actions import importing
from inventory.planning.models import Assembly
from inventory.trade import codes
from tests.browser import open_page

PLAN = "stage,assembly,callout,each\nFin,Skin,AN426AD3-3.5,30\n"


@pytest.fixture
def skin(owner, now, rivets):
    """An assembly that asks for 30 of the 40 in bin 12."""
    found = importing.preview(name="plan.csv", data=PLAN.encode())
    importing.apply(found=found, by=owner, now=now)
    return Assembly.objects.get()


@pytest.fixture
def page(live_server, owner):
    """The owner's phone, signed in."""
    with open_page(live_server, owner) as phone:
        yield phone


def scan(page: Page, code: str) -> None:
    """As a keyboard-wedge scanner does: the keys, then Enter."""
    page.keyboard.type(code, delay=5)
    page.keyboard.press("Enter")


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_scan_pull_and_undo_on_a_phone(live_server, page, skin, rivets):
    page.goto(f"{live_server.url}/bench/")
    said = page.locator("#flash-words")
    expect(said).to_contain_text("Scan a bin")
    scan(page, codes.make("S", skin.pk))
    expect(said).to_contain_text("Working on Fin / Skin")
    scan(page, rivets.code)
    expect(page.locator("#pending-count")).to_have_text("30")
    assert queries.quantity_in(rivets) == 40
    page.get_by_role("button", name="Confirm").click()
    expect(said).to_contain_text("Pulled 30")
    expect(page.locator("#unsent-words")).to_have_text("All on the server")
    assert queries.quantity_in(rivets) == 10
    expect(page.locator("#last li").first).to_contain_text("30")
    page.get_by_role("button", name="Undo last").click()
    expect(said).to_contain_text("It was: pull of bin 12")
    assert queries.quantity_in(rivets) == 40
    scan(page, "XB001299")
    expect(page.locator("#loud")).to_be_visible()
    assert queries.quantity_in(rivets) == 40
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


@pytest.mark.slow
@pytest.mark.journey
@pytest.mark.django_db
@pytest.mark.parametrize(
    "address",
    [
        "/",
        "/bench/",
        "/plan/",
        "/bins/",
        "/bins/12/",
        "/items/",
        "/orders/",
        "/orders/new/",
        "/receive/",
        "/alerts/",
        "/labels/",
        "/bits/",
        "/settings/",
        "/unread/",
        "/plan/import/",
        "/stock/import/",
    ],
)
def test_every_page_answers_its_people_and_no_stranger(client, owner, skin, address):
    stranger = client.get(address)
    assert stranger.status_code == 302
    assert "/sign-in/" in stranger["Location"]
    client.force_login(owner)
    answer = client.get(address)
    assert answer.status_code == 200
    assert "default-src 'none'" in answer["Content-Security-Policy"]
    kept = "private, max-age" if address == "/bench/" else "no-store"
    assert kept in answer["Cache-Control"]
