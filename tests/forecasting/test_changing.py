"""What an item really is: read anew, merged with another, and taken back.

Each shop that made the mistake is compared with one that never did.
"""

import uuid

import pytest

from inventory.catalog.actions import item_asked, item_described, item_for_callout
from inventory.catalog.models import Item
from inventory.catalog.queries import changes_of, items_with_words, search
from inventory.catalog.rules import described
from inventory.errors import Refused
from inventory.forecasting.actions import changing, fit_from_bin
from inventory.forecasting.actions import undo_act as undo
from inventory.forecasting.models import Bit
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import lot_of, open_bin, open_place
from inventory.ledger.actions.posting import Ask
from inventory.ledger.queries import bin_numbered, flaws, quantity_in
from inventory.ledger.queries.lots import lots_in
from inventory.ledger.rules import BORROWER
from inventory.ordering.actions.placing import AskLine, place_order, supplier_called
from inventory.ordering.models import OrderLine
from inventory.planning.actions.importing import apply, preview
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly
from inventory.planning.queries.asking import asked_by

pytestmark = pytest.mark.django_db

PLAN = "stage,assembly,callout,each\nFin,Skin,{},30\nFin,Skin,AN470AD4-5,4\n"


@pytest.fixture
def by(owner, now):
    """The owner's asks, each new."""
    return lambda: Ask(by=owner, now=now, scan_id=str(uuid.uuid4()))


def plan(owner, now, callout):
    apply(
        found=preview(name="plan.csv", data=PLAN.format(callout).encode()),
        by=owner,
        now=now,
    )
    return Assembly.objects.get(name="Skin")


def worked(owner, now, by, item, skin):
    """Bin 12 with 200 of a lot; 9 pulled, 20 lent, 50 on order."""
    bin = open_bin(item=item, by=owner, number=12)
    verbs.count(bin=bin, counted=200, ask=by(), lot=lot_of(item=item, name="L7"))
    place = place_to_pull_for(assembly=skin, by=owner, now=now)
    verbs.pull(bin=bin, quantity=9, to=place, ask=by())
    verbs.lend(
        bin=bin, quantity=20, to=open_place(kind=BORROWER, name="Ada Club"), ask=by()
    )
    place_order(
        supplier=supplier_called(name="Invented Rivet Co"),
        asks=[AskLine(item, 1, 50)],
        placed_on=now.date(),
        by=owner,
    )
    return bin


def figures(skin):
    """All that a page says of the rivets: in the bin, asked for, lent, ordered, lots."""
    bin = bin_numbered(12)
    asked = sorted((row.item.callout, row.need, row.pulled) for row in asked_by(skin))
    lines = OrderLine.objects.values_list("item__callout", "packs", "pack_pieces")
    places = bin.item.balances.exclude(quantity=0).order_by("quantity")
    return (
        bin.item.callout,
        quantity_in(bin),
        asked,
        list(lines),
        [
            (row.place.kind, row.quantity)
            for row in places
            if row.place.kind not in ("count_difference", "merged")
        ],
        [stay.lot.name for stay in lots_in(bin)],
    )


def test_what_was_read_wrongly_is_as_if_it_had_been_read_right(owner, now, by):
    skin = plan(owner, now, "ADX-SKIN-7")
    item = item_for_callout(text="ADX-SKIN-7")
    assert (item.recognised, item.words) == (False, "ADX-SKIN-7")
    worked(owner, now, by, item, skin)
    changing.be_really(item=item, means="MS20426AD3-4", ask=by())
    item.refresh_from_db()
    assert (item.words, item.head, item.recognised) == (
        "3/32 flush, 1/4 long",
        "flush",
        True,
    )
    assert figures(skin) == (
        "MS20426AD3-4",
        171,
        [("AN470AD4-5", 4, 0), ("MS20426AD3-4", 30, 9)],
        [("MS20426AD3-4", 1, 50)],
        [("assembly", 9), ("borrower", 20), ("bin", 171)],
        ["L7"],
    )
    assert item_for_callout(text="AN426AD3-4") == item
    assert item_for_callout(text="ADX-SKIN-7") == item
    assert not bin_numbered(12).labelled
    assert flaws() == []
    changing.take_back(change=changes_of(item)[0], ask=by())
    item.refresh_from_db()
    assert (item.words, item.recognised, item.head) == ("ADX-SKIN-7", False, "")
    assert item.diameter_in is None
    with pytest.raises(Refused, match="taken back already"):
        changing.take_back(change=changes_of(item)[0], ask=by())


def test_two_that_are_one_add_up_as_if_there_had_been_one(owner, now, by):
    right = item_for_callout(text="MS20426AD3-4")
    open_bin(item=right, by=owner, number=5)
    verbs.count(bin=bin_numbered(5), counted=33, ask=by())
    skin = plan(owner, now, "ADX-SKIN-7")
    wrong = item_for_callout(text="ADX-SKIN-7")
    worked(owner, now, by, wrong, skin)
    with pytest.raises(Refused, match=r"is here already \(bin 5\)") as caught:
        changing.be_really(item=wrong, means="AN426AD3-4", ask=by())
    assert caught.value.code == "catalog.exists"
    changing.be_really(item=wrong, means="AN426AD3-4", ask=by(), sure=True)
    callout, held, asked, lines, places, lots = figures(skin)
    assert (callout, held, lots) == ("MS20426AD3-4", 171, ["L7"])
    assert ("MS20426AD3-4", 30, 9) in asked
    assert lines == [("MS20426AD3-4", 1, 50)]
    assert sorted(places) == [
        ("assembly", 9),
        ("bin", 33),
        ("bin", 171),
        ("borrower", 20),
    ]
    assert flaws() == []
    assert item_for_callout(text="ADX-SKIN-7") == right
    assert wrong not in search("ADX-SKIN-7")
    # What is done afterwards is done to the one item.
    verbs.move(bin=bin_numbered(12), quantity=5, to=bin_numbered(5), ask=by())
    assert flaws() == []


def test_what_was_merged_is_two_again_with_what_is_in_its_bins_now(owner, now, by):
    right = item_for_callout(text="MS20426AD3-4")
    open_bin(item=right, by=owner, number=5)
    verbs.count(bin=bin_numbered(5), counted=33, ask=by())
    skin = plan(owner, now, "ADX-SKIN-7")
    wrong = item_for_callout(text="ADX-SKIN-7")
    worked(owner, now, by, wrong, skin)
    change = changing.merge(old=wrong, new=right, ask=by())
    verbs.move(bin=bin_numbered(12), quantity=5, to=bin_numbered(5), ask=by())
    changing.take_back(change=change, ask=by())
    callout, held, asked, lines, places, _ = figures(skin)
    assert (callout, held) == ("ADX-SKIN-7", 166)
    assert ("ADX-SKIN-7", 30, 9) in asked
    assert lines == [("ADX-SKIN-7", 1, 50)]
    assert sorted(places) == [("assembly", 9), ("bin", 166), ("borrower", 20)]
    assert quantity_in(bin_numbered(5)) == 38
    assert flaws() == []


def test_an_assembly_that_asked_both_asks_the_sum_until_they_are_two_again(
    owner, now, by
):
    data = (
        "stage,assembly,kind,name,each\nFin,Skin,other,Clamp,2\n"
        "Fin,Skin,other,Spring clamp,3\n"
    )
    apply(found=preview(name="p.csv", data=data.encode()), by=owner, now=now)
    skin = Assembly.objects.get()
    one, other = (Item.objects.get(words=name) for name in ("Clamp", "Spring clamp"))
    change = changing.merge(old=other, new=one, ask=by())
    assert [(row.item, row.need) for row in asked_by(skin)] == [(one, 5)]
    changing.take_back(change=change, ask=by())
    needs = {(row.item, row.need) for row in asked_by(skin)}
    assert needs == {(one, 2), (other, 3)}


def test_bits_follow_their_drill(owner, now, by):
    one = item_asked(text="#40 drill")
    other = item_described(what=described("drill", size="no 40"))
    open_bin(item=other, by=owner, number=3)
    verbs.count(bin=bin_numbered(3), counted=6, ask=by())
    bit, _ = fit_from_bin(bin=bin_numbered(3), ask=by())
    change = changing.merge(old=other, new=one, ask=by())
    assert Bit.objects.get(pk=bit.pk).item == one
    assert quantity_in(bin_numbered(3)) == 5
    assert flaws() == []
    changing.take_back(change=change, ask=by())
    assert Bit.objects.get(pk=bit.pk).item == other


def test_what_was_done_before_a_merge_is_not_taken_back_but_counted(owner, now, by):
    right = item_for_callout(text="MS20426AD3-4")
    wrong = item_for_callout(text="ADX-SKIN-7")
    bin = open_bin(item=wrong, by=owner, number=12)
    counted = verbs.count(bin=bin, counted=50, ask=by()).act
    changing.merge(old=wrong, new=right, ask=by())
    with pytest.raises(Refused, match="count the bin instead"):
        undo(act=counted, ask=by())
    bin = bin_numbered(12)
    assert bin.count_it
    merged = bin.acts.get(verb="merge")
    with pytest.raises(Refused, match="on the item's page"):
        undo(act=merged, ask=by())
    recount = verbs.count(bin=bin, counted=48, ask=by()).act
    assert not bin_numbered(12).count_it
    undo(act=recount, ask=by())
    assert quantity_in(bin_numbered(12)) == 50
    assert flaws() == []


def test_unlike_things_are_not_merged_once_they_have_a_record(owner, now, by):
    rivet = item_for_callout(text="MS20426AD3-4")
    sealant = item_described(what=described("sealant", name="Tank sealant"))
    open_bin(item=sealant, by=owner, number=8)
    with pytest.raises(Refused, match="already"):
        changing.merge(old=rivet, new=rivet, ask=by())
    verbs.count(bin=bin_numbered(8), counted=80, ask=by())
    with pytest.raises(Refused, match="kept in ml"):
        changing.merge(old=sealant, new=rivet, ask=by())
    with pytest.raises(Refused, match="kept in ml"):
        changing.be_really(item=sealant, means="AN470AD4-6", ask=by())


def test_a_name_is_changed_where_no_callout_says_what_it_is(owner, now, by):
    clamps = item_described(what=described("other", name="Clamps"))
    changing.rename(item=clamps, words="  Spring   clamps ", ask=by())
    assert items_with_words("spring clamps") == [clamps]
    other = item_described(what=described("other", name="Tape"))
    with pytest.raises(Refused, match="is called 'Spring clamps' already"):
        changing.rename(item=other, words="Spring clamps", ask=by())
    rivet = item_for_callout(text="MS20426AD3-4")
    with pytest.raises(Refused, match="says what it is"):
        changing.rename(item=rivet, words="skin rivet", ask=by())
    first = changes_of(clamps)[0]
    changing.rename(item=clamps, words="Side clamps", ask=by())
    with pytest.raises(Refused, match="changed again since"):
        changing.take_back(change=first, ask=by())
    changing.take_back(change=changes_of(clamps)[0], ask=by())
    changing.take_back(change=first, ask=by())
    assert items_with_words("clamps") == [clamps]


def test_plain_words_make_a_drill_and_nothing_that_is_no_size(db):
    drill = item_asked(text="#30 drill, 6 in")
    assert (drill.kind, drill.size, drill.form) == ("drill", "#30", "6 in")
    assert item_asked(text="#30 drill, 6 in") == drill
    for text in ("#300 drill", "big drill", "#30 drill, bent"):
        with pytest.raises(Refused, match="no callout that can be read"):
            item_asked(text=text)
