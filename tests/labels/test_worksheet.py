"""The work sheet of an assembly: every line says what, how many, from where."""

from collections.abc import Callable
from datetime import datetime

import pypdfium2
import pytest

from inventory.catalog.actions import item_for_callout
from inventory.errors import Refused
from inventory.labels.actions import assembly_pdf
from inventory.labels.rules import pages, worksheet
from inventory.labels.rules.sheets import PAPERS
from inventory.labels.rules.symbols import Dots
from inventory.labels.rules.worksheet import Block, Note, PageHead, Wanted
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.actions.posting import Ask
from inventory.ledger.queries import Bin
from inventory.people.models import User
from inventory.planning.actions.importing import apply, preview
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly
from inventory.trade import codes

URL = "http://shop.local"
PLAN = b"""stage,assembly,how_many,callout,each
Fin,Skin,2,MS20426AD3-3.5,70
Fin,Skin,2,AN470AD4-5,9
"""


@pytest.fixture
def skin(owner: User, rivets: Bin, now: datetime) -> Assembly:
    """An assembly that asks 140 of what is in bin 12, and 18 of what no bin holds."""
    apply(found=preview(name="plan.csv", data=PLAN), by=owner, now=now)
    return Assembly.objects.select_related("stage", "place").get()


def said(pdf: bytes) -> str:
    """All text of the first page, single spaces."""
    text = pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_range()
    return " ".join(text.split())


def test_it_says_what_is_still_to_take(
    skin: Assembly, rivets: Bin, owner: User, now: datetime, ask: Callable[[], Ask]
) -> None:
    """Less what was pulled; an item without a bin says so."""
    place = place_to_pull_for(assembly=skin, by=owner, now=now)
    verbs.pull(bin=rivets, quantity=30, to=place, ask=ask())
    text = said(assembly_pdf(assembly=skin, shop_url=URL))
    assert "Skin" in text
    assert "Fin, 2 times: still to take" in text
    assert "3/32 flush, 7/32 long" in text
    assert " 110 " in text
    assert "MS20426AD3-3.5 · rack A" in text
    assert codes.in_the_clear(rivets.code) in text
    assert "AN470AD4-5 · no bin holds it" in text


@pytest.mark.slow
def test_its_codes_read_and_are_the_right_ones(skin: Assembly, rivets: Bin) -> None:
    """The assembly's in the head, also as an address; the bin's on its line; no other."""
    (page,) = pages.rendered(assembly_pdf(assembly=skin, shop_url=URL), 300)
    code = codes.make("S", skin.pk)
    wanted = sorted([code, f"HTTP://SHOP.LOCAL/S/{code}", rivets.code])
    for found in pages.readings(page):
        assert found == wanted


@pytest.mark.slow
def test_of_two_bins_it_names_the_fuller(
    skin: Assembly, rivets: Bin, owner: User, ask: Callable[[], Ask]
) -> None:
    """A builder is sent to the bin that has enough."""
    item = item_for_callout(text="AN426AD3-3.5")
    jar = open_bin(item=item, by=owner, number=3, spot="bench jar")
    assert "rack A" in said(assembly_pdf(assembly=skin, shop_url=URL))
    verbs.count(bin=jar, counted=500, ask=ask())
    text = said(assembly_pdf(assembly=skin, shop_url=URL))
    assert "bench jar" in text
    assert "rack A" not in text


@pytest.mark.slow
@pytest.mark.parametrize("paper", PAPERS)
def test_a_long_sheet_carries_its_head_on_every_page(paper: str) -> None:
    """Nothing is lost at the page's end; hostile words stay words."""
    page = PAPERS[paper]
    rows: list[Block] = [
        Wanted("<para>" * 12 + str(n), "9", "A" * 90, "b, " * 60, codes.make("B", n))
        for n in range(1, 28)
    ]
    rows.insert(12, Note("rack B", heading=True))
    head = PageHead("W" * 80, "Fin", codes.make("S", 4))
    drawn = list(worksheet.worksheet(head, rows, page, Dots(300)))
    assert [one.page for one in drawn if one.code.startswith("XS")] == [0, 1, 2]
    assert len(drawn) == len(rows) + 3
    for one in drawn:
        assert one.rect.top + one.rect.height <= page[1] - worksheet.TOP
        for line in one.lines:
            assert line.x + line.width <= (page[0] - worksheet.SIDE) * 72 / 25.4
    pages.check(pages.pdf_of(drawn, page), drawn, 300)


def test_a_heading_never_ends_a_page() -> None:
    """What stands under it goes with it."""
    rows: list[Block] = [
        *[Wanted(str(n)) for n in range(12)],
        Note("rack B", heading=True),
        Wanted("last"),
    ]
    drawn = list(
        worksheet.worksheet(PageHead("x", ""), rows, PAPERS["letter"], Dots(300))
    )
    texts = [[line.text for line in one.lines] for one in drawn if one.page == 1]
    assert ["rack B"] in texts
    assert ["last"] in texts


def test_a_sheet_that_does_not_read_is_not_offered(
    skin: Assembly, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As with labels."""
    monkeypatch.setattr(worksheet, "bar_modules", lambda _code: "10" * 50)
    with pytest.raises(Refused) as refused:
        assembly_pdf(assembly=skin, shop_url=URL)
    assert refused.value.code == "labels.unreadable"
