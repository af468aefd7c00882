"""Sizes in inches, with millimetres beside, or in millimetres, as the shop chooses.

One inch is 25.4 mm exactly (NIST SP 811, 2008, B.8).
"""

import pytest
from django.urls import reverse

from inventory.catalog.actions import item_asked, item_described, item_for_callout
from inventory.catalog.models import Item
from inventory.catalog.queries import search
from inventory.catalog.rules import Description
from inventory.forecasting.actions import changing
from inventory.planning.actions import importing
from inventory.planning.queries import current_build
from inventory.planning.queries.stored import stored_plan
from inventory.planning.rules.unfolding import plan_csv
from inventory.scanning.queries import whole_shop
from inventory.trade.sizes import Lengths, said

CALLED = {
    "3/32 flush, 7/32 long": "3/32 (2.4 mm) flush, 7/32 (5.6 mm) long",
    "1/8 universal, 5/16 long": "1/8 (3.2 mm) universal, 5/16 (7.9 mm) long",
    "3/16 bolt, 25/32 long, plain shank": (
        "3/16 (4.8 mm) bolt, 25/32 (19.8 mm) long, plain shank"
    ),
    "1 1/4 long": "1 1/4 (31.8 mm) long",
    "1/4-28 nut": "1/4-28 nut",
    "10-32 screw, 1/2 long": "10-32 screw, 1/2 (12.7 mm) long",
    "#40 drill, 6 in": "#40 drill, 6 in",
    "24/7 tape": "24/7 tape",
}


@pytest.mark.parametrize(("inches", "both"), CALLED.items())
def test_words_are_said_both_ways_and_back(inches, both):
    first = said(inches, Lengths.MILLIMETRES)
    for each in (inches, both, first):
        assert said(each, Lengths.INCHES) == inches
        assert said(each, Lengths.BESIDE) == both
        assert said(each, Lengths.MILLIMETRES) == first


def test_millimetres_stand_first_where_they_are_chosen():
    first = "2.4 mm (3/32) flush, 5.6 mm (7/32) long"
    assert said("3/32 flush, 7/32 long", Lengths.MILLIMETRES) == first
    assert said("1 1/4 long", Lengths.MILLIMETRES) == "31.8 mm (1 1/4) long"
    assert said("#40 drill, 6 in", Lengths.MILLIMETRES) == "#40 drill, 6 in"


@pytest.fixture
def shelf(db):
    item_for_callout(text="MS20426AD3-3.5")
    item_for_callout(text="no rivet 3/32")
    item_described(
        what=Description(kind="sealant", size="", form="", unit="ml", name="tape 1/2")
    )


def words():
    return set(Item.objects.values_list("words", flat=True))


def test_all_that_callouts_name_is_called_so_and_what_comes_later_too(shelf):
    before = words()
    assert changing.say_lengths(Lengths.BESIDE) == 1
    assert changing.say_lengths(Lengths.BESIDE) == 0
    late = item_for_callout(text="MS20470AD4-5")
    assert late.words == "1/8 (3.2 mm) universal, 5/16 (7.9 mm) long"
    assert "3/32 (2.4 mm) flush, 7/32 (5.6 mm) long" in words()
    # Unread ones, and what a person named, stay as they were written.
    assert {"no rivet 3/32"} < words()
    assert any("tape 1/2" in each for each in words())
    for text in ("3/32 flush 7/32", "2.4 flush", "ad3-3.5"):
        assert [row.callout for row in search(text)] == ["MS20426AD3-3.5"]
    # Typed in either wording it is that item, and no other is made.
    for text in ("3/32 flush, 7/32 long", "3/32 (2.4 mm) flush, 7/32 (5.6 mm) long"):
        assert item_asked(text=text).callout == "MS20426AD3-3.5"
    assert changing.say_lengths(Lengths.MILLIMETRES) == 2
    assert "2.4 mm (3/32) flush, 5.6 mm (7/32) long" in words()
    found = item_asked(text="2.4 mm (3/32) flush, 5.6 mm (7/32) long")
    assert found.callout == "MS20426AD3-3.5"
    assert changing.say_lengths(Lengths.INCHES) == 2
    assert words() == before | {"1/8 universal, 5/16 long"}


PLAN = "stage,assembly,callout,each,kind,name\nFin,Skin,AN426AD3-3.5,30,,\n"
PLAN += "Fin,Skin,,2,other,tape 1/2\n"


def test_a_plan_goes_out_in_one_wording_and_comes_in_in_the_other(shelf, owner, now):
    found = importing.preview(name="plan.csv", data=PLAN.encode())
    importing.apply(found=found, by=owner, now=now)
    text = plan_csv(stored_plan(current_build()))
    changing.say_lengths(Lengths.MILLIMETRES)
    for each in (text, plan_csv(stored_plan(current_build()))):
        assert importing.preview(name="plan.csv", data=each.encode()).changes == []


@pytest.mark.django_db
def test_the_owner_chooses_on_a_page_and_every_page_follows(client, owner, rivets):
    client.force_login(owner)
    page = client
    changed = page.post(reverse("wording-set"), {"lengths": "beside"}, follow=True)
    assert "Sizes are said so: 3/32 (2.4 mm) flush." in changed.content.decode()
    for where in ("/bins/12/", "/bins/", "/find/?q=flush", f"/items/{rivets.item_id}/"):
        assert "3/32 (2.4 mm) flush" in page.get(where).content.decode()
    assert "3/32 (2.4 mm)" in whole_shop()["items"][str(rivets.item_id)]["words"]
    page.post(reverse("wording-set"), {"lengths": "inches"})
    assert "2.4 mm" not in page.get("/bins/12/").content.decode()
