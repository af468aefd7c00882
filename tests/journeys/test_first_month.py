"""The first month in an invented shop, by hand: no file, no command, no dead end.

From the first page of all to a closed assembly, in a browser; the figures are the story's
own, and the record must hold them.
"""

import pytest
from playwright.sync_api import Page, expect

from inventory.ledger.queries import bin_numbered, flaws, quantity_in
from inventory.ordering.queries import still_owed
from inventory.people.models import User
from inventory.planning.models import CLOSED, Assembly
from tests.browser import open_page
from tests.journeys.pressing import opened, says, send
from tests.web.test_every_page import faults

SIZES = [{"width": 360, "height": 640}, {"width": 1280, "height": 900}]
PASSWORD = "cold hands, warm rivets"


def fits(page: Page) -> None:
    """Nothing on the page hinders anybody at its width."""
    size = page.viewport_size
    assert size is not None
    assert list(faults(page, size["width"])) == []


def begun(page: Page, server: str) -> None:
    """The shop gets its name and owner; five steps are left."""
    page.goto(server)
    fits(page)
    mine = {"Your_name": "Marlow", "Password,": PASSWORD, "once_more": PASSWORD}
    send(page, "It is mine", What_the_shop_is_called="Hangar nine", **mine)
    expect(page.locator("main")).to_contain_text("5 of 5 left")
    fits(page)


def planned(page: Page, server: str) -> None:
    """A stage, an assembly, what it asks and drills."""
    page.goto(f"{server}/plan/")
    send(page, "Make the stage", Name="Fin", Starts_on="2027-05-01")
    page.get_by_role("link", name="Fin").first.click()
    send(page, "Make the assembly", Name="Left skin")
    page.get_by_role("link", name="Change Left skin").click()
    send(page, "Add it", Callout="MS20426AD3-3.5", How_many_each="30")
    says(page, "MS20426AD3-3.5, 30 each")
    opened(page, "Add holes")
    send(page, "Add the holes", Drill_size="#30", Holes_each="30")
    # The drawing says #40: another line in place of that one.
    opened(page, "Add holes")
    wrong = "#30, drill to size, none held"
    send(page, "Add the holes", Drill_size="#40", Holes_each="30", In_place_of=wrong)
    says(page, "#40 (drill to size, none held), 30")
    fits(page)


def stocked(page: Page, server: str) -> None:
    """Two tins that look alike, one without a count at first."""
    for callout, held in (("MS20426AD3-3.5", "20"), ("MS20426AD3-4", "")):
        page.goto(f"{server}/bins/new/")
        how_many = {"How_many_are_in_it_now": held} if held else {}
        send(page, "Make the bin", Callout=callout, **how_many)
        says(page, "Bin")
    page.goto(f"{server}/bins/1/")
    expect(page.locator(".balance")).to_contain_text("20")
    expect(page.locator("main")).to_contain_text("Look-alikes")
    send(page, "Keep", Spot="rack A", Keep_level="10")
    fits(page)


def ordered(page: Page, server: str) -> None:
    """What is missing of the first stage is ordered, from two suppliers."""
    for supplier, packs in (("Reed & Daughters", "1"), ("Hollow Oak", "2")):
        page.goto(f"{server}/orders/new/")
        line = page.locator("fieldset", has_text="Line 1")
        line.get_by_label("Callout, or name").fill("MS20426AD3-3.5")
        line.get_by_label("Packs").fill(packs)
        line.get_by_label("Pieces a pack").fill("50")
        send(page, "Note the order", Supplier=supplier)
        says(page, "is noted")
    page.get_by_role("link", name="Shopping list").click()
    fits(page)
    page.goto(f"{server}/orders/")
    fits(page)


def said(page: Page) -> str:
    return page.locator("#flash-words").inner_text()


def typed(page: Page, text: str) -> None:
    """At the bench, without a printed label."""
    page.keyboard.type(text, delay=3)
    page.keyboard.press("Enter")


def received(page: Page, server: str) -> None:
    """The second order's parcel comes first; the bench asks which order it was."""
    page.goto(f"{server}/bench/")
    words = page.locator("#flash-words")
    expect(words).to_contain_text("Scan a bin")
    page.wait_for_selector("[data-ready]")
    typed(page, "order 2")
    expect(words).to_contain_text("Receiving order 2 of Hollow Oak")
    typed(page, "bin 2")
    expect(words).to_contain_text("Order 2 waits for no")
    fits(page)
    page.get_by_role("button", name="Seen").click()
    page.get_by_role("button", name="Cancel").click()
    typed(page, "bin 1")
    expect(words).to_contain_text("For order 2 (Hollow Oak, 100).")
    assert page.locator("#which").is_hidden()
    typed(page, "100")
    page.get_by_role("button", name="Confirm").click()
    expect(words).to_contain_text("For order 2. The line is complete.")
    page.get_by_role("button", name="Cancel").click()
    expect(page.locator("#unsent-words")).to_have_text("All on the server")


def pulled(page: Page, server: str) -> None:
    """The evening's rivets; the wrong tin is stopped, a slip is taken back."""
    opened(page, "Choose an assembly")
    page.get_by_role("button", name="Fin / Left skin").click()
    words = page.locator("#flash-words")
    expect(words).to_contain_text("Working on Fin / Left skin")
    typed(page, "bin 2")
    expect(page.locator("#loud")).to_be_visible()
    page.get_by_role("button", name="Seen").click()
    page.get_by_role("button", name="Cancel").click()
    typed(page, "bin 1")
    expect(page.locator("#pending-count")).to_have_text("30")
    page.get_by_role("button", name="Confirm").click()
    expect(words).to_contain_text("Pulled 30")
    expect(page.locator("#unsent-words")).to_have_text("All on the server")
    page.get_by_role("button", name="Undo last").click()
    expect(words).to_contain_text("It was: pull of bin 1")
    typed(page, "bin 1")
    typed(page, "32")
    page.get_by_role("button", name="Confirm").click()
    expect(words).to_contain_text("Pulled 32")
    expect(page.locator("#unsent-words")).to_have_text("All on the server")
    fits(page)


def counted(page: Page, server: str) -> None:
    """A count by a slip, ten times too many: asked about, and mended."""
    page.goto(f"{server}/bins/1/")
    send(page, "Book it", What="count: it holds", How_many="880000")
    expect(page.locator("main")).to_contain_text("far from what is usual")
    send(page, "Book it", How_many="88")
    expect(page.locator(".balance")).to_contain_text("88")


def closed(page: Page, server: str) -> None:
    """Two of the thirty-two were over and spoiled; the record keeps what was said."""
    row = Assembly.objects.get()
    page.goto(f"{server}/assemblies/{row.pk}/close-up/")
    fits(page)
    expect(page.locator("main")).to_contain_text("2 over")
    send(page, "Close it", Note="Set by Marlow.")
    expect(page.locator("main")).to_contain_text("Set by Marlow.")
    page.goto(f"{server}/acts/")
    expect(page.locator("main")).to_contain_text("Fin / Left skin closed")
    fits(page)


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("size", SIZES, ids=["phone", "desk"])
def test_the_first_month_by_hand(live_server, size):
    with open_page(live_server, None, size=size) as page:
        for step in (
            begun,
            planned,
            stocked,
            ordered,
            received,
            pulled,
            counted,
            closed,
        ):
            step(page, live_server.url)
    assert User.objects.get().username == "Marlow"
    assert quantity_in(bin_numbered(1)) == 88
    assert [(row.line.order.number, row.pieces) for row in still_owed()] == [(1, 50)]
    assert Assembly.objects.get().state == CLOSED
    assert flaws() == []
