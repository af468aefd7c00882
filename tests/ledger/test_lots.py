"""A lot goes where its pieces go, and ends where a bin was found empty."""

import pytest

from inventory.catalog.actions import item_for_callout
from inventory.errors import Refused
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import lot_of, open_bin, open_place
from inventory.ledger.actions.posting import Leg, Locked, open_act, post
from inventory.ledger.models import Movement
from inventory.ledger.queries import quantity_in, single_place
from inventory.ledger.queries.lots import lots_at, lots_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def supplier(db):
    return open_place(kind="supplier", name="Ridge Fasteners")


@pytest.fixture
def other(rivets, owner):
    """Another bin of the same rivet, empty."""
    return open_bin(item=rivets.item, by=owner, number=13)


def lots(bin):
    return {stay.lot.name for stay in lots_in(bin)}


def delivered(bin, supplier, ask, name, quantity=50):
    lot = lot_of(item=bin.item, name=name)
    verbs.receive(bin=bin, quantity=quantity, supplier=supplier, ask=ask(), lot=lot)
    return lot


def test_lots_follow_the_pieces_into_another_bin(rivets, other, supplier, ask):
    delivered(rivets, supplier, ask, "A7")
    delivered(rivets, supplier, ask, "B9")
    assert lots(other) == set()
    verbs.move(bin=rivets, quantity=20, to=other, ask=ask())
    assert lots(other) == lots(rivets) == {"A7", "B9"}
    assert (quantity_in(rivets), quantity_in(other)) == (120, 20)


def test_a_lot_ends_with_a_count_of_zero_and_not_with_a_balance_of_zero(
    rivets, other, supplier, ask
):
    delivered(rivets, supplier, ask, "A7")
    verbs.move(bin=rivets, quantity=90, to=other, ask=ask())
    assert quantity_in(rivets) == 0
    assert lots(rivets) == {"A7"}
    verbs.count(bin=rivets, counted=0, ask=ask())
    assert lots(rivets) == set()
    assert lots(other) == {"A7"}


def test_a_recall_finds_every_assembly_after_a_move(rivets, other, supplier, ask):
    lot = delivered(rivets, supplier, ask, "A7")
    verbs.move(bin=rivets, quantity=20, to=other, ask=ask())
    skin = open_place(kind="assembly", name="Skin")
    verbs.pull(bin=other, quantity=5, to=skin, ask=ask())
    assert [each.pk for each in lots_at(skin)[rivets.item_id]] == [lot.pk]


def test_a_lot_of_another_item_is_refused(rivets, owner, supplier, ask):
    strange = lot_of(item=item_for_callout(text="MS20470AD4-5"), name="X1")
    with pytest.raises(Refused) as refused:
        verbs.receive(bin=rivets, quantity=5, supplier=supplier, ask=ask(), lot=strange)
    assert refused.value.code == "ledger.other_item"
    assert quantity_in(rivets) == 40
    assert lots(rivets) == set()


def test_nothing_is_posted_that_a_place_does_not_hold(rivets, ask):
    """Verbs cover what is missing first; whoever posts without that is stopped."""
    unplanned = single_place("unplanned")
    locked = Locked({rivets.item_id: [rivets.place, unplanned]})
    act, _again = open_act("pull", ask(), {"bin": rivets.pk}, bin=rivets)
    leg = Leg(rivets.item_id, 41, rivets.place, unplanned)
    before = Movement.objects.count()
    with pytest.raises(Refused) as refused:
        post(locked, act, leg)
    assert refused.value.code == "ledger.not_there"
    assert "does not hold 41" in refused.value.sentence
    assert (quantity_in(rivets), Movement.objects.count()) == (40, before)
    post(locked, act, Leg(rivets.item_id, 40, rivets.place, unplanned))
    assert quantity_in(rivets) == 0
