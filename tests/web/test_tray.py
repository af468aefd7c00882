"""Tonight's tray, cards and sheets, as pages and PDFs."""

from django.urls import reverse

from inventory.forecasting.queries.tray import walking
from inventory.labels.actions import kept_setup


def test_the_tray_lists_bins_as_one_walks(page, spar, rivets):
    shown = page.get(reverse("tray"), {"assembly": spar.pk})
    (take, *_rest) = shown.context["tray"].takes
    assert (take.quantity, take.bins[0][0]) == (30, rivets)
    assert b"bin 12" in shown.content
    assert b"No bit is fitted" in shown.content
    printed = page.get(reverse("tray-sheet"), {"assembly": spar.pk})
    assert printed.content.startswith(b"%PDF")


def test_without_an_assembly_there_is_nothing_to_print(page):
    assert b"No assembly is open" in page.get(reverse("tray")).content
    assert page.get(reverse("tray-sheet")).status_code == 400


def test_spots_are_walked_by_their_numbers():
    spots = ["rack A, drawer 10", "Rack A, drawer 2", "", "rack B"]
    order = sorted(spots, key=lambda spot: walking(spot, 1))
    assert order == ["", "Rack A, drawer 2", "rack A, drawer 10", "rack B"]


def test_cards_and_an_assemblys_sheet_are_pdfs(page, spar):
    for address in (reverse("cards"), reverse("assembly-sheet", args=[spar.pk])):
        assert page.get(address).content.startswith(b"%PDF")


def test_the_label_setup_is_remembered(page, rivets):
    sent = {
        "bin": "12",
        "sheet": "roll",
        "dpi": "203",
        "skip": "0",
        "right": "0.5",
        "down": "0",
        "roll_width": "62",
        "roll_printable": "58",
        "roll_length": "30",
    }
    answer = page.post(reverse("labels"), sent)
    assert answer.content.startswith(b"%PDF")
    assert kept_setup()["dpi"] == 203
    assert b'value="0.5"' in page.get(reverse("labels")).content
    wrong = page.post(reverse("labels"), {**sent, "roll_printable": "80"})
    assert wrong.status_code == 400
    assert b"printable width" in wrong.content
