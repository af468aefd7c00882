"""A callout finds its item, a kind and size make one, the unread is kept."""

import pytest

from inventory.catalog.actions import item_described, item_for_callout, teach_callout
from inventory.catalog.models import Item
from inventory.catalog.queries import look_alikes
from inventory.catalog.rules import KINDS, described
from inventory.errors import Refused

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    "other", ["AN426AD3-3.5", "NASM20426AD3-3.5", "ms20426ad3-3.5"]
)
def test_equivalent_callouts_are_one_item(other):
    assert item_for_callout(text=other) == item_for_callout(text="MS20426AD3-3.5")


@pytest.mark.parametrize("other", ["MS20426A3-3.5", "MS20426AD3-3", "MS20470AD3-3.5"])
def test_what_only_looks_alike_is_another_item(other):
    assert item_for_callout(text=other) != item_for_callout(text="MS20426AD3-3.5")


def test_neighbours_are_half_a_size_and_a_size_off():
    item = item_for_callout(text="MS20426AD3-4")
    for text in ("MS20426AD3-3.5", "MS20426AD3-5", "MS20426AD3-6", "MS20470AD3-4"):
        item_for_callout(text=text)
    assert {row.callout for row in look_alikes(item)} == {
        "MS20426AD3-3.5",
        "MS20426AD3-5",
    }


def test_an_unread_callout_is_kept():
    item = item_for_callout(text="ZZ-PLUG 7")
    assert (item.recognised, item.callout) == (False, "ZZ-PLUG 7")
    with pytest.raises(Refused, match="write the part number"):
        item_for_callout(text="  ")


def test_a_callout_cannot_be_taught_twice():
    one, two = item_for_callout(text="AN3-5A"), item_for_callout(text="AN3-6A")
    teach_callout(text="LONG BOLT", item=one)
    with pytest.raises(Refused, match="already names"):
        teach_callout(text="long  bolt", item=two)


@pytest.mark.parametrize("kind", [k for k in KINDS.values() if k.forms])
def test_every_form_of_a_kind_is_an_item_of_its_own(kind):
    for form in kind.forms:
        item_described(what=described(kind.word, size="#40", form=form))
    assert Item.objects.filter(kind=kind.code).count() == len(kind.forms)


def test_a_cutter_is_known_by_angle_pilot_and_thread():
    traits = {"angle": "100", "pilot": "#41", "thread": "1/4-28"}
    one = item_described(what=described("countersink", size="3/32", traits=traits))
    two = item_described(
        what=described("countersink", size="3/32", traits=traits | {"angle": "120"})
    )
    assert one != two
    assert one.traits == traits
