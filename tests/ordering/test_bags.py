"""A bag's codes at the bench: envelopes, GS1, one-field codes, and what is taught once."""

from datetime import date, timedelta

import pytest

from inventory.catalog.actions import item_for_callout, teach_callout
from inventory.ledger.actions.undoing import undo
from inventory.ordering.actions.placing import AskLine, place_order, supplier_called
from inventory.ordering.actions.receiving import receive
from inventory.ordering.queries import bag_found, claim_by
from inventory.ordering.rules.bags import bag_of

# By the grammar of ISO/IEC 15434 with MH10.8.2 identifiers; computed.
ENVELOPE = "[)>\x1e06\x1d1PMS20426AD3-3.5\x1dQ500\x1d1TR-7\x1dK12\x1e\x04"


def known(text):
    """Two rivets of the shop, by the number that names them."""
    return {"MS20426AD3-3.5": 1, "426AD35": 1, "MS20470AD3-4": 2}.get(text)


def test_one_envelope_says_it_all():
    bag = bag_of([ENVELOPE], known)
    assert bag.part == "MS20426AD3-3.5"
    assert (bag.contents.quantity, bag.contents.lot) == (500, "R-7")
    assert bag.unread == ()


def test_one_field_codes_are_taken_together_beside_a_known_part():
    bag = bag_of(["Q250", "1TR-8", "1PMS20426AD3-3.5"], known)
    assert (bag.contents.quantity, bag.contents.lot) == (250, "R-8")
    assert bag.part == "MS20426AD3-3.5"


def test_nothing_is_split_on_a_guess():
    bag = bag_of(["K1000-3", "Q250"], known)
    assert bag.unread == ("K1000-3", "Q250")
    assert bag.contents.quantity is None


def test_a_bare_part_number_and_a_quantity_beside_it():
    bag = bag_of(["MS20426AD3-3.5", "Q250"], known)
    assert (bag.part, bag.contents.quantity) == ("MS20426AD3-3.5", 250)


def test_two_quantities_are_a_fault_and_a_cut_code_is_not_whole():
    bag = bag_of([ENVELOPE, "Q250"], known)
    assert any("one code says 500" in fault for fault in bag.faults)
    assert not bag.sure
    assert not bag_of([ENVELOPE[:-2]], known).sure
    assert bag_of([ENVELOPE, "Q500"], known).sure


def test_codes_that_name_different_items_name_none():
    bag = bag_of([ENVELOPE, "MS20470AD3-4"], known)
    assert bag.part == ""
    assert "MS20426AD3-3.5 and MS20470AD3-4" in bag.faults[0]


def test_a_number_that_names_nothing_is_no_part():
    strange = ENVELOPE.replace("MS20426AD3-3.5", "ZZ-NEW")
    assert bag_of([strange], known).part == ""
    bag = bag_of([strange, "MS20470AD3-4"], known)
    assert (bag.part, bag.faults) == ("MS20470AD3-4", ())


def test_two_numbers_of_one_item_are_one():
    assert bag_of([ENVELOPE, "426AD35"], known).part == "MS20426AD3-3.5"


def test_a_broken_gs1_code_is_a_fault_and_the_rest_stands():
    bag = bag_of(["]C10109501101530004", "MS20426AD3-3.5"], known)
    assert bag.part == "MS20426AD3-3.5"
    assert len(bag.faults) == 1


@pytest.fixture
def order(owner, rivets):
    return place_order(
        supplier=supplier_called(name="Hangar supply"),
        asks=[AskLine(rivets.item, 2, 500)],
        placed_on=date(2027, 2, 1),
        by=owner,
    )


@pytest.mark.django_db
def test_the_shop_knows_item_bin_and_order(order, rivets):
    found = bag_found([ENVELOPE])
    assert found.item == rivets.item
    assert [row.line.order for row in found.owed] == [order]
    assert (found.bins[0], found.pieces) == (rivets, 500)
    assert bag_found([ENVELOPE[:-2]]).pieces is None
    assert bag_found([ENVELOPE, "Q250"]).pieces is None


@pytest.mark.django_db
def test_the_order_that_a_bag_names_comes_first(order, rivets, owner):
    other = place_order(
        supplier=order.supplier,
        asks=[AskLine(rivets.item, 1, 500)],
        placed_on=date(2027, 2, 9),
        by=owner,
        reference="12",
    )
    assert [row.line.order for row in bag_found([ENVELOPE]).owed] == [other, order]
    plain = bag_found(["MS20426AD3-3.5"])
    assert [row.line.order for row in plain.owed] == [order, other]
    assert bag_found(["ZZ-NEW 7"]).owed == bag_found(["ZZ-NEW 7"]).bins == []


@pytest.mark.django_db
def test_another_spelling_of_the_same_rivet_is_known(rivets):
    assert bag_found(["AN426AD3-3.5"]).item == rivets.item


@pytest.mark.django_db
def test_a_code_is_taught_once(rivets):
    number = "]E04006381333931"
    assert bag_found([number]).item is None
    teach_callout(text="4006381333931", item=item_for_callout(text="MS20426AD3-3.5"))
    assert bag_found([number]).item == rivets.item


@pytest.mark.django_db
def test_what_is_missing_has_a_clock(order, rivets, ask, now):
    assert claim_by(order) is None
    line = order.lines.get()
    receive(bin=rivets, supplier=order.supplier, ask=ask(), pieces=400, line=line)
    assert claim_by(order) == now.date() + timedelta(days=30)
    receive(bin=rivets, supplier=order.supplier, ask=ask(), pieces=600, line=line)
    assert claim_by(order) is None


@pytest.mark.django_db
def test_a_receipt_taken_back_starts_no_clock(order, rivets, ask):
    line = order.lines.get()
    done, _ = receive(
        bin=rivets, supplier=order.supplier, ask=ask(), pieces=400, line=line
    )
    undo(act=done.act, ask=ask())
    assert claim_by(order) is None
