"""The labels page: what is printed on what, remembered; cards for every action."""

import io

import pypdfium2
import pytest
from django.urls import reverse

from inventory.forecasting.models import Bit
from inventory.forecasting.rules.bits import BitState
from inventory.labels.queries import kept_setup
from inventory.labels.rules import pages
from inventory.ledger.actions.bins import change_bin, open_bin
from inventory.ledger.queries import bin_numbered
from inventory.scanning.rules.saying import ACTIONS, QUANTITY_CARDS
from inventory.trade import codes
from tests.browser import open_page

SENT = {"bin": "12", "sheet": "single", "dpi": "300", "skip": "0"}
SENT |= {"right": "0", "down": "0"}


def size_mm(answer):
    page = pypdfium2.PdfDocument(io.BytesIO(answer.content))[0]
    return [side / 72 * 25.4 for side in page.get_size()]


@pytest.mark.slow
def test_every_action_has_its_card_and_it_reads(page, owner):
    """The numbers are those that the bench understands; a badge for the owner."""
    assert QUANTITY_CARDS == (0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 20, 25, 50, 100)
    pdf = page.get(reverse("cards")).content
    found = {text for picture in pages.rendered(pdf, 300) for text in first(picture)}
    wanted = {codes.make("C", number) for number in ACTIONS}
    wanted |= {codes.make("N", number) for number in QUANTITY_CARDS}
    assert found == wanted | {codes.make("H", owner.pk)}


def first(picture):
    """What the first reader sees."""
    return next(pages.readings(picture))


@pytest.mark.slow
def test_the_label_setup_is_remembered(page, rivets):
    roll = {"sheet": "roll", "dpi": "203", "right": "0.5"}
    sizes = {"roll_width": "62", "roll_printable": "58", "roll_length": "30"}
    answer = page.post(reverse("labels"), {**SENT, **roll, **sizes})
    assert size_mm(answer) == pytest.approx([62, 30], abs=0.01)
    assert kept_setup()["dpi"] == 203
    shown = page.get(reverse("labels")).content
    assert b'value="0.5"' in shown
    assert b'<option value="203" selected>' in shown
    wrong = {**SENT, **roll, **sizes, "roll_printable": "80"}
    answer = page.post(reverse("labels"), wrong)
    assert answer.status_code == 400
    assert b"printable width" in answer.content
    assert kept_setup()["roll_printable"] == 58


@pytest.mark.slow
def test_an_own_sheet_is_printed_as_measured(page, rivets):
    own = {
        "sheet": "own",
        "page_across": "100",
        "page_down": "150",
        "label_across": "45",
        "label_down": "25",
        "columns": "2",
        "rows": "5",
        "margin_left": "4",
        "margin_top": "5",
        "pitch_across": "47",
        "pitch_down": "27",
    }
    answer = page.post(reverse("labels"), {**SENT, **own})
    assert size_mm(answer) == pytest.approx([100, 150], abs=0.01)
    answer = page.post(reverse("labels"), {**SENT, **own, "columns": "3"})
    assert answer.status_code == 400
    assert b"do not fit across" in answer.content


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"right": "0.55"}, b"Shift right"),
        ({"down": "21"}, b"Shift down"),
        ({"skip": "1"}, b"no first labels"),
        ({"dpi": "301"}, b"dots an inch"),
        ({"sheet": "tags"}, b"choose a larger one"),
    ],
)
def test_what_cannot_be_is_refused_in_words(page, rivets, changes, says):
    answer = page.post(reverse("labels"), {**SENT, **changes})
    assert answer.status_code == 400
    assert says in answer.content
    assert kept_setup() == {}


@pytest.mark.slow
def test_a_bit_s_tag_holds_its_bare_code(page, rivets):
    """No address: a scanner at the bench takes it as it is."""
    Bit.objects.create(number=134, item=rivets.item, state=BitState.FITTED)
    assert b"Bits, for their tubes" in page.get(reverse("labels")).content
    sent = {**SENT, "bit": "134", "sheet": "tags"}
    del sent["bin"]
    answer = page.post(reverse("labels"), sent)
    (picture,) = pages.rendered(answer.content, 300)
    assert first(picture) == [codes.make("T", 134)]


def test_one_press_prints_every_bin(page, rivets):
    sent = {**SENT, "every": "1"}
    del sent["bin"]
    answer = page.post(reverse("labels"), sent)
    (picture,) = pages.rendered(answer.content, 300)
    assert rivets.code in first(picture)


def test_the_assembly_page_leads_to_its_sheet(page, spar):
    shown = page.get(reverse("assembly", args=[spar.pk]))
    address = reverse("assembly-sheet", args=[spar.pk])
    assert address.encode() in shown.content
    assert page.get(address).content.startswith(b"%PDF")


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_a_browser_lets_the_form_go_as_it_comes(live_server, owner, rivets):
    """No size that is filled in beforehand stops it, open or folded away."""
    with open_page(live_server, owner, accept_downloads=True) as page:
        page.goto(live_server.url + reverse("labels"))
        page.check("input[name=bin][value='12']")
        with page.expect_download() as download:
            page.get_by_role("button", name="Make the PDF").click()
        assert download.value.suggested_filename == "labels.pdf"


@pytest.mark.slow
@pytest.mark.django_db
def test_bins_without_a_label_are_printed_together_once(page, rivets, owner):
    address = reverse("labels")
    open_bin(item=rivets.item, by=owner, number=31, spot="rack B")
    assert b"Of the 2 without a label" in page.get(address).content
    sent = {**SENT, "new": "1"}
    del sent["bin"]
    pdf = page.post(address, sent)
    assert len(pypdfium2.PdfDocument(io.BytesIO(pdf.content))) == 2
    assert b"without a label" not in page.get(address).content
    change_bin(bin=bin_numbered(31), by=owner, keep_level=5)
    assert b"without a label" not in page.get(address).content
    change_bin(bin=bin_numbered(31), by=owner, spot="rack C")
    assert b"Of the 1 without a label" in page.get(address).content
