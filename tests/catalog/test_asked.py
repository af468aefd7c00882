"""What a person types is an item they have, or is asked about: no phantom is made."""

import pytest

from inventory.catalog.actions import item_asked, item_described, item_for_callout
from inventory.catalog.models import Item
from inventory.catalog.rules import described
from inventory.errors import Refused
from inventory.ordering.models import Offer, OrderLine, Supplier

pytestmark = pytest.mark.django_db


@pytest.fixture
def drill():
    """A thing without a callout."""
    return item_described(what=described("drill", size="#40", form="plain"))


def test_callouts_names_and_words_are_understood(drill):
    rivet = item_for_callout(text="MS20426AD3-3.5")
    assert item_asked(text="AN426AD3-3.5") == rivet
    assert item_asked(text=f"  {drill.words.upper()} ") == drill
    ties = item_described(what=described("other", name="cable tie"))
    assert item_asked(text="cable tie") == ties
    assert item_asked(text="AN3-5A").kind == "bolt"


def test_what_nobody_can_read_is_asked_about_and_kept_if_it_is_right(drill):
    with pytest.raises(Refused) as refused:
        item_asked(text="MS2O426AD3-3,5x")
    assert refused.value.code == "catalog.unread"
    assert Item.objects.count() == 1
    assert not item_asked(text="MS2O426AD3-3,5x", sure=True).recognised
    with pytest.raises(Refused, match="no callout"):
        item_asked(text="  ")


def test_two_things_of_one_name_are_not_guessed(drill):
    Item.objects.create(kind="drill", key="another", words=drill.words)
    with pytest.raises(Refused, match="the name of 2 things"):
        item_asked(text=drill.words)


def test_a_drill_is_ordered_priced_and_kept_in_a_bin_by_its_words(client, owner, drill):
    client.force_login(owner)
    page = client.get(f"/items/{drill.pk}/").content.decode()
    at = page.split("/orders/new/?callout=")[1].split('"')[0]
    form = client.get(f"/orders/new/?callout={at}").content.decode()
    assert f'value="{drill.words}"' in form
    line = {"line-0-callout": drill.words, "line-0-packs": "1", "line-0-pack_pieces": 6}
    head = {"supplier": "Hangar supply", "placed_on": "2027-02-20"}
    sizes = {"line-TOTAL_FORMS": "1", "line-INITIAL_FORMS": "0"}
    client.post("/orders/new/", {**head, **sizes, **line})
    assert OrderLine.objects.get().item == drill
    supplier = Supplier.objects.get()
    client.post(
        f"/suppliers/{supplier.pk}/offers/",
        {"callout": drill.words, "pack": "6", "price": "9"},
    )
    assert Offer.objects.get().item == drill
    client.post("/bins/new/", {"callout": drill.words, "counted": "6"})
    assert drill.bins.get().number == 1
    refused = client.post("/bins/new/", {"callout": "nobody reads this"})
    assert refused.status_code == 409
    assert "It is right" in refused.content.decode()
    assert Item.objects.count() == 1
