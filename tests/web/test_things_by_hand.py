"""Items and bins are named, merged, split and retired on their pages, and mended there."""

import uuid

import pytest

from inventory.catalog.actions import item_for_callout
from inventory.catalog.models import Item, ItemChange
from inventory.labels.queries import label_of
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.queries import bin_numbered, bins, flaws, quantity_in

pytestmark = pytest.mark.django_db


def sent(browser, address, **said):
    found = browser.post(address, said, follow=True)
    return found.status_code, found.content.decode()


@pytest.fixture
def unread(owner, ask):
    """Bin 30 holds 25 of what nobody could read."""
    item = item_for_callout(text="KIT-RV-88")
    open_bin(item=item, by=owner, number=30)
    verbs.count(bin=bin_numbered(30), counted=25, ask=ask())
    return item


def test_an_unread_item_is_said_to_be_another_after_asking(page, unread, rivets):
    address = f"/items/{unread.pk}/really/"
    status, found = sent(page, address)
    assert (status, "Say what it is" in found) == (400, True)
    status, found = sent(page, address, callout="no such thing")
    assert status == 400
    assert 'value="no such thing"' in found
    status, found = sent(page, address, callout="AN426AD3-3.5")
    assert status == 409
    assert "is here already (bin 12)" in found
    assert "It is right" in found
    assert bin_numbered(30).item == unread
    status, found = sent(page, address, callout="AN426AD3-3.5", sure="yes")
    assert status == 200
    assert "Print new labels for: bin 12, 30." in found
    assert bin_numbered(30).item == rivets.item
    old = page.get(f"/items/{unread.pk}/").content.decode()
    assert "It was merged into" in old
    shown = page.get("/bins/30/").content.decode().split("<b>merged")[1]
    assert "Take it back" not in shown.split("</li>")[0]
    change = ItemChange.objects.get()
    assert sent(page, f"/items/changes/{change.pk}/back/")[0] == 200
    assert (bin_numbered(30).item, quantity_in(bin_numbered(30))) == (unread, 25)
    assert sent(page, f"/items/changes/{change.pk}/back/")[0] == 409
    assert sent(page, "/items/changes/999/back/")[0] == 404
    assert flaws() == []


def test_other_names_are_given_and_dropped(page, rivets):
    pk = rivets.item_id
    assert sent(page, f"/items/{pk}/names/", text="short skin rivet")[0] == 200
    assert item_for_callout(text="Short  skin rivet") == rivets.item
    status, found = sent(page, f"/items/{pk}/unname/", text="MS20426AD3-3.5")
    assert (status, "is what it is" in found) == (409, True)
    assert sent(page, f"/items/{pk}/unname/", text="SHORT SKIN RIVET")[0] == 200
    seen = page.get(f"/items/{pk}/").content.decode()
    assert "SHORT SKIN RIVET" not in seen
    other = item_for_callout(text="AN470AD4-5")
    status, found = sent(page, f"/items/{pk}/names/", text=other.callout)
    assert (status, "already names" in found) == (409, True)


def test_a_bin_is_split_once(page, rivets):
    form = {"scan_id": str(uuid.uuid4()), "quantity": "15", "spot": "drawer 2"}
    status, found = sent(page, "/bins/12/move/", **form)
    assert (status, "are in bin 13 now. Print its label." in found) == (200, True)
    sent(page, "/bins/12/move/", **form)
    assert [(row.number, quantity_in(row)) for row in bins()] == [(12, 25), (13, 15)]
    assert bin_numbered(13).spot == "drawer 2"
    status, _ = sent(page, "/bins/12/move/", **{**form, "quantity": "16"})
    assert status == 422
    assert len(bins()) == 2


def test_a_bin_is_emptied_away_and_used_again(page, rivets):
    status, found = sent(page, "/bins/12/retire/")
    assert (status, "holds 40 by the record" in found) == (409, True)
    status, _ = sent(page, "/bins/12/retire/", gone="on", reason="to the club")
    assert status == 200
    assert (bins(), quantity_in(bin_numbered(12))) == ([], 0)
    assert "/bins/12/" not in page.get("/bins/").content.decode()
    assert "/bins/12/" in page.get("/bins/?flag=retired").content.decode()
    seen = page.get("/bins/12/").content.decode()
    assert "Use it again" in seen
    assert "emptied away: to the club" in seen
    assert sent(page, "/bins/12/use/")[0] == 200
    assert [row.number for row in bins()] == [12]
    sent(page, "/bins/12/retire/")
    # Whoever works at it has it in use.
    counted = {"verb": "count", "quantity": "7", "scan_id": str(uuid.uuid4())}
    assert sent(page, "/bins/12/book/", **counted)[0] == 200
    assert [row.number for row in bins()] == [12]
    assert flaws() == []


def test_a_label_never_says_unread(unread):
    assert "unread" not in label_of(bin_numbered(30), "").words.lower()


def test_what_is_typed_is_offered_with_its_words(page, rivets):
    seen = page.get("/bins/new/").content.decode()
    assert '<option value="MS20426AD3-3.5" label="3/32 flush, 7/32 long">' in seen
    assert '<option value="MS20470AD4-6" label="1/8 universal, 3/8 long">' in seen
    assert '<option value="#40 drill, 6 in">' in seen
    assert sent(page, "/bins/new/", callout="#40 drill, 6 in", counted="4")[0] == 200
    assert Item.objects.get(kind="drill").form == "6 in"
