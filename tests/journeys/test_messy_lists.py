"""An empty shop filled from three spreadsheets as people keep them, in a real browser.

Every figure is compared with what a careful person would have keyed; the lists are
invented.
"""

import io

import pytest
from openpyxl import Workbook
from playwright.sync_api import Page, expect

from inventory.ledger.queries import bins, quantity_in
from inventory.ordering.models import Offer
from inventory.planning.models import Need, Stage
from tests.browser import open_page

PLAN = """Tail kit;;;;;;;
as counted in January;;;;;;;

Section;Assembly;Rivet;Qty;Start date;Who;Seam length;Pitch
Fin;Spar;AN426AD3-3.5;1.250;02/03/2027;Ann;;
;;AN470AD4-5;12 pcs;;Ann;;
;Skin;AN426AD3-4;approx 90;;;;
Sum;;;1.352;;;;
Rudder;Rib;AN470AD4-4;48;20.04.2027;;;
;Skin;AN426AD3-4;;;;48,5;1,5
"""
PRICES = (
    "Vendor\tPart number\tPack size\tPrice\n"
    "Invented Rivets\tAN426AD3-4\t1/4 lb\t1,204.50\n"
    "Invented Rivets\tAN470AD4-5\t250\t4.90\n"
)
SIZES = ({"width": 360, "height": 740}, {"width": 1280, "height": 800})


def stock() -> bytes:
    """A workbook with a title, merged cells, other names, numbers as text."""
    book = Workbook()
    sheet = book.active
    for row in (
        ["What we have", None, None, None],
        ["Location", "Bin no", "P/N", "Count"],
        ["rack A", 1, "MS20426AD3-3.5", "1,400 pcs"],
        [None, 2, "MS20470AD4-5", 600.0],
        ["rack B", 7, "AN426AD3-4", "~ 75"],
        ["Total", None, None, 2075],
    ):
        sheet.append(row)
    sheet.merge_cells("A3:A4")
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def fits(page: Page) -> None:
    """Nothing is wider than the page."""
    wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
    assert wide <= 0


def sent(page: Page, address: str, name: str, data: bytes) -> None:
    """A file, looked at."""
    page.goto(address)
    page.set_input_files("[name=file]", {"name": name, "mimeType": "", "buffer": data})
    page.get_by_role("button", name="Look at it first").click()


def filled(page: Page, server: str) -> None:
    """The three lists, one after the other."""
    sent(page, f"{server}/plan/import/", "tail.csv", PLAN.encode("cp1252"))
    page.get_by_label("Who", exact=True).select_option("")
    page.get_by_role("button", name="Read it so").click()
    page.get_by_role("button", name="The day comes first").click()
    body = page.locator("main")
    expect(body).to_contain_text("each: '1.250' is read as 1250.")
    expect(body).to_contain_text("'approx 90' is read as 90, a guess.")
    expect(body).to_contain_text("is a total")
    fits(page)
    page.get_by_role("button", name="Apply").click()
    expect(body).to_contain_text("changes made")
    sent(page, f"{server}/stock/import/", "stock.xlsx", stock())
    expect(body).to_contain_text("quantity: '1,400 pcs' is read as 1400.")
    fits(page)
    page.get_by_role("button", name="Apply").click()
    expect(body).to_contain_text("changes made")
    page.goto(f"{server}/offers/import/")
    page.fill("[name=pasted]", PRICES)
    page.get_by_role("button", name="Look at it first").click()
    expect(body).to_contain_text("price: '1,204.50' is read as 1204.50.")
    fits(page)
    page.get_by_role("button", name="Apply").click()
    expect(body).to_contain_text("changes made")


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("size", SIZES, ids=["phone", "desk"])
def test_three_messy_lists_fill_an_empty_shop(live_server, owner, size):
    with open_page(live_server, owner, size=size) as page:
        filled(page, live_server.url)
    asked = Need.objects.values_list("assembly__name", "callout", "each")
    assert sorted(asked) == [
        ("Rib", "AN470AD4-4", 48),
        # 48.5 less two edges of 15/64 takes 33 spaces of at most 1.5: one rivet more.
        ("Skin", "AN426AD3-4", 34),
        ("Skin", "AN426AD3-4", 90),
        ("Spar", "AN426AD3-3.5", 1250),
        ("Spar", "AN470AD4-5", 12),
    ]
    starts = {row.name: str(row.planned_start) for row in Stage.objects.all()}
    assert starts == {"Fin": "2027-03-02", "Rudder": "2027-04-20"}
    held = [(row.number, row.spot, row.item.words, quantity_in(row)) for row in bins()]
    assert held == [
        (1, "rack A", "3/32 flush, 7/32 long", 1400),
        (2, "rack A", "1/8 universal, 5/16 long", 600),
        (7, "rack B", "3/32 flush, 1/4 long", 75),
    ]
    offers = Offer.objects.exclude(price=None).order_by("price")
    # A quarter of a pound is 113.40 g (NIST SP 811: 1 lb is 453.59237 g).
    assert [(str(row.price), row.pack, str(row.pack_grams)) for row in offers] == [
        ("4.90", 250, "None"),
        ("1204.50", None, "113.40"),
    ]
