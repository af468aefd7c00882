"""A callout, a name or plain words at the bench find the bin: whole sizes only."""

import json
import subprocess
from pathlib import Path

import pytest
from playwright.sync_api import expect

from inventory.catalog.actions import item_asked, item_for_callout
from inventory.config import scripts
from inventory.ledger.actions.bins import open_bin, retire_bin
from inventory.ledger.queries import bin_numbered
from inventory.scanning.queries import whole_shop
from inventory.trade import codes
from tests.browser import open_page

pytestmark = [pytest.mark.slow, pytest.mark.django_db]
HELD = {
    12: "MS20426AD3-3.5",
    13: "MS20426AD3-3",
    14: "MS20470AD4-4",
    15: "MS20470AD4-4",
    16: "AN470AD5-13",
}
MEANT = {
    "MS20426AD3-3": [13],
    "an426ad3-3.5": [12],
    "NASM20426 AD3-3": [],
    "an470ad4-4": [14, 15],
    "AN426  AD3-3": [],
    "ad3-3": [13],
    "AD3-": [],
    "3/32 flush": [12, 13],
    "flush 3/32, 7/32": [12],
    "1/8 univ": [14, 15],
    "13/16": [16],
    "3/16": [13],
    "32 flush": [],
    "#40 drill": [20],
    "drill": [20],
    "tank sealant": [],
    "bin 12": [],
    "XB001299": [],
    "12": [],
    ".*": [],
    "": [],
}


def shelve(owner, now):
    for number, callout in HELD.items():
        open_bin(item=item_for_callout(text=callout), by=owner, number=number)
    open_bin(item=item_asked(text="#40 drill"), by=owner, number=20)
    open_bin(item=item_for_callout(text="Tank sealant"), by=owner, number=21)
    retire_bin(bin=bin_numbered(21), now=now)


def heard(texts):
    """The bins that each text means on the device, and what it is called."""
    told = json.dumps({"shop": whole_shop(), "texts": list(texts)})
    found = subprocess.run(
        [scripts.node(), str(Path(__file__).with_name("meaning.js"))],
        input=told,
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(found.stdout)


def test_words_mean_the_bins_that_they_fit_whole(owner, now):
    shelve(owner, now)
    found = [bins for bins, _name in heard(MEANT)]
    assert dict(zip(MEANT, found, strict=True)) == MEANT


def test_a_label_is_called_by_what_it_stands_for(owner, now):
    shelve(owner, now)
    called = {
        codes.make("B", 12): "bin 12: 3/32 flush, 7/32 long (MS20426AD3-3.5)",
        codes.make("B", 77): codes.make("B", 77),
        codes.make("H", owner.pk): str(owner),
        codes.make("R", 3): "order 3",
        codes.make("C", 9): "confirm",
        "XB001203": "XB001203",
    }
    found = [name for _bins, name in heard(called)]
    assert dict(zip(called, found, strict=True)) == called


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_words_choose_a_bin_and_where_several_fit_a_person_does(
    live_server, owner, now
):
    shelve(owner, now)
    with open_page(live_server, owner) as page:
        page.goto(f"{live_server.url}/bench/")
        page.wait_for_selector("[data-ready]")

        def typed(text):
            page.keyboard.type(text, delay=40)
            page.keyboard.press("Enter")

        typed("ad3-3.5")
        expect(page.locator("#pending-verb")).to_contain_text("bin 12")
        page.get_by_role("button", name="Cancel").click()
        typed("3/32 flush")
        words = page.locator("#flash-words")
        expect(words).to_contain_text("2 bins fit '3/32 flush': which one?")
        expect(page.locator("#pending")).to_be_hidden()
        page.locator("#found button").nth(1).click()
        expect(page.locator("#pending-verb")).to_contain_text("bin 13")
        page.get_by_role("button", name="Cancel").click()
        typed("Bin 16")
        expect(page.locator("#pending-verb")).to_contain_text("bin 16")
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
