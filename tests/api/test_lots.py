"""Where a lot went, to a program, on a page and on paper: the same, and none left out."""

import io

import pypdfium2
import pytest
from django.urls import reverse

from inventory.catalog.actions import item_for_callout
from inventory.ledger.actions.bins import lot_of, open_bin, open_place
from inventory.ledger.actions.verbs import count, give_back, move, pull, receive
from inventory.ledger.queries.lots import recall


@pytest.fixture
def lot(rivets, ask):
    """Sixty of a lot on top of forty others; ninety went to the wing, one to the tail."""
    supplier = open_place(kind="supplier", name="Hangar supply")
    found = lot_of(item=rivets.item, name="R-77", paper="P-1")
    receive(bin=rivets, quantity=60, supplier=supplier, ask=ask(), lot=found)
    for name, pieces in (("Wing", 90), ("Tail", 1)):
        place = open_place(kind="assembly", name=name)
        pull(bin=rivets, quantity=pieces, to=place, ask=ask())
    return found


def test_a_lot_is_followed_to_where_it_may_have_gone(got, rivets, lot):
    assert [row["name"] for row in got("lots")] == ["R-77"]
    assert got("lots?q=p-1") == got("lots")
    assert got(f"lots?after={lot.pk}") == got("lots?q=R-78") == []
    said = got(f"lots/{lot.pk}")
    assert said["callout"] == rivets.item.callout
    assert said["bins"] == [{"number": 12, "spot": rivets.spot, "emptied": False}]
    first, second = said["places"]
    assert (first["name"], first["least"], first["most"]) == ("Wing", 50, 60)
    assert (first["pieces"], first["likely"]) == (90, 54)
    assert (first["chance"], second["least"], second["most"]) == (1, 0, 1)
    # Of the ten that are left six are of it, one of them was pulled: hypergeometric.
    assert second["chance"] == pytest.approx(0.6)
    assert got("lots/999", 404)["code"] == "ledger.no_lot"


def test_the_page_and_the_paper_say_the_same(client, owner, lot):
    client.force_login(owner)
    page = client.get(reverse("lot", args=[lot.pk])).content.decode()
    printed = client.get(reverse("lot-print", args=[lot.pk]))
    assert printed["Content-Type"] == "application/pdf"
    pdf = pypdfium2.PdfDocument(io.BytesIO(printed.content))
    text = " ".join(
        pdf[at].get_textpage().get_text_bounded() for at in range(len(pdf))
    ).split()
    for words in (
        "50 to 60 of it, probably 54",
        "at most 1 of it; any at all: 60 %",
        "Wing",
        "Tail",
    ):
        assert words in page
        assert words.replace(" ", "") in "".join(text)
    assert client.get(reverse("lot-print", args=[999])).status_code == 404


def test_from_bin_to_bin_and_back_it_is_followed(rivets, owner, ask, lot):
    """What stayed goes on: ten are left, six of them probably of it."""
    other = open_bin(item=rivets.item, by=owner, number=13)
    count(bin=other, counted=9, ask=ask())
    move(bin=rivets, quantity=9, to=other, ask=ask())
    move(bin=other, quantity=4, to=rivets, ask=ask())
    nose, fin = (open_place(kind="assembly", name=name) for name in ("Nose", "Fin"))
    pull(bin=other, quantity=14, to=nose, ask=ask())
    pull(bin=rivets, quantity=4, to=fin, ask=ask())
    found = {each.place.name: each.share for each in recall(lot)}
    assert found.keys() == {"Wing", "Tail", "Nose", "Fin"}
    # 5.4 of 18 went over, 1.2 of the four came back.
    assert found["Nose"].likely == pytest.approx(5.4 - 1.2)
    assert found["Fin"].likely == pytest.approx(1.2)
    assert (found["Nose"].most, found["Fin"].most) == (9, 4)
    give_back(bin=rivets, quantity=4, from_=fin, ask=ask())
    (back,) = (each.share for each in recall(lot) if each.place.name == "Fin")
    assert (back.pieces, back.most) == (0, 0)


def test_what_another_item_did_is_none_of_it(rivets, owner, ask, lot):
    bolts = open_bin(item=item_for_callout(text="AN3-5A"), by=owner, number=30)
    count(bin=bolts, counted=20, ask=ask())
    pull(bin=bolts, quantity=5, to=open_place(kind="assembly", name="Fin"), ask=ask())
    assert {each.place.name for each in recall(lot)} == {"Wing", "Tail"}
