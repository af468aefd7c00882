"""A plan made by hand from an empty shop, in a browser: no file, and nothing lost."""

import re

import pytest
from playwright.sync_api import expect

from inventory.planning.models import Assembly, Need, Stage
from tests.browser import open_page
from tests.journeys.pressing import opened, says, send
from tests.web.test_every_page import faults

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]


def make(page, url):
    """A stage and an assembly that asks, drills and has a seam."""
    page.goto(f"{url}/plan/")
    send(page, "Make the stage", Name="Left wing", Starts_on="2027-05-01")
    says(page, "New stage Left wing")
    page.get_by_role("link", name="Left wing").first.click()
    send(page, "Make the assembly", Name="Left rib", Made_how_many_times="2")
    says(page, "new assembly: Left wing / Left rib, made 2 times")
    page.get_by_role("link", name="Change Left rib").click()
    send(page, "Add it", Callout="MS20470AD4-5", How_many_each="40")
    says(page, "MS20470AD4-5, 40 each")
    sealant = {"Or_its_kind": "sealant", "Name": "class B-2", "How_many_each": "50"}
    send(page, "Add it", **sealant)
    says(page, "class B-2, 50 ml each")
    opened(page, "Add holes")
    send(page, "Add the holes", Drill_size="#30", Holes_each="40")
    says(page, "#30 (drill to size, none held), 40")
    opened(page, "Add a seam")
    seam = {"Length": "10", "Pitch": "1", "Sheets": ".020+.025", "Diameter": "3/32"}
    send(page, "Add the seam", **seam)
    says(page, "new seam")
    page.get_by_label("MS20470AD4-5").first.fill("44")
    page.get_by_role("button", name="Keep the numbers").click()
    says(page, "40 each becomes 44 each")


def copy(page, url):
    """The other rib, and the other wing."""
    opened(page, "Name, number, copy")
    send(page, "Copy the assembly")
    says(page, "Right rib")
    page.goto(f"{url}/stages/{Stage.objects.get().pk}/")
    opened(page, "Name, copy, split")
    send(page, "Copy the stage")
    says(page, "Left wing is copied")
    names = Stage.objects.values_list("name", flat=True)
    assert list(names) == ["Left wing", "Right wing"]


@pytest.mark.parametrize(
    ("width", "height"), [(360, 640), (1280, 900)], ids=["phone", "desk"]
)
def test_a_plan_by_hand_from_an_empty_shop(live_server, owner, width, height):
    size = {"width": width, "height": height}
    with open_page(live_server, owner, size=size) as page:
        make(page, live_server.url)
        assert list(faults(page, width)) == []
        copy(page, live_server.url)
        page.get_by_role("link", name="Right wing").first.click()
        opened(page, "Name, copy, split")
        page.get_by_role("button", name="Drop the stage").click()
        expect(page.locator("h1")).to_have_text("Change the plan?")
        assert list(faults(page, width)) == []
        page.get_by_role("button", name="Change the plan").click()
        says(page, "Right wing is dropped")
        page.get_by_role("link", name="What was changed").click()
        page.get_by_role("button", name=re.compile("back.*wing is dropped")).click()
        says(page, "Taken back")
        assert list(faults(page, width)) == []
        assert Assembly.objects.count() == 4
        assert Need.objects.filter(callout="MS20470AD4-5", each=44).count() == 4
