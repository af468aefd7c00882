"""Bins, lots and openings: numbers, gaps that are filled, pages, what is not there."""

import hashlib
from datetime import date, timedelta

import pytest
from django.utils import timezone

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.rules import described
from inventory.errors import Refused
from inventory.ledger import queries, rules
from inventory.ledger.actions import bins, undoing, verbs
from inventory.ledger.actions.evidence import keep_photograph
from inventory.ledger.actions.posting import want_all
from inventory.ledger.queries import counts, lots
from inventory.ledger.queries.acts import at_place, deeds
from inventory.ledger.queries.loans import loans

pytestmark = pytest.mark.django_db
MARCH, MAY = date(2027, 3, 31), date(2027, 5, 31)


@pytest.fixture
def assembly(db):
    """A place to pull for, with a name as long as one may be."""
    return bins.open_place(kind="assembly", name=f" {'w' * 200}")


def test_a_bin_without_a_number_takes_the_next(rivets, owner):
    assert bins.open_bin(item=rivets.item, by=owner).number == 13
    for number in (1, 9999):
        assert bins.open_bin(item=rivets.item, by=owner, number=number).spot == ""
    with pytest.raises(Refused, match="1 to 9999"):
        bins.open_bin(item=rivets.item, by=owner)
    with pytest.raises(Refused, match="1 to 9999"):
        bins.open_bin(item=rivets.item, by=owner, number=0)
    with pytest.raises(Refused, match="exists already"):
        bins.open_bin(item=rivets.item, by=owner, number=12)


def test_the_first_bin_of_a_shop_is_number_1(owner):
    item = item_described(what=described("drill", size="#40"))
    assert bins.open_bin(item=item, by=owner).number == 1


def test_a_bin_moves_but_keeps_its_item(rivets, owner):
    bins.note_labelled(bins=[rivets])
    rivets.refresh_from_db()
    assert queries.bins_without_a_label() == []
    bins.change_bin(bin=rivets, by=owner, spot="rack A", keep_level=5)
    assert queries.bins_without_a_label() == []
    bins.change_bin(bin=rivets, by=owner, spot="rack B")
    assert queries.bins_without_a_label() == [rivets]
    assert queries.bins_with_a_keep_level() == [rivets]
    with pytest.raises(Refused, match="A bin's item cannot change"):
        bins.change_bin(bin=rivets, by=owner, item=rivets.item)


@pytest.mark.parametrize(
    ("first", "later", "kept"),
    [
        (("", None), ("P-1 ", MARCH), ("P-1", MARCH)),
        (("P-1", None), ("P-2", MARCH), ("P-1", MARCH)),
        (("", MARCH), ("P-2", None), ("P-2", MARCH)),
        (("", MARCH), ("", MAY), ("", MARCH)),
        (("P-1", MARCH), ("P-2", MAY), ("P-1", MARCH)),
    ],
)
def test_later_papers_fill_what_a_lot_lacks(rivets, first, later, kept):
    for paper, ends in (first, later):
        lot = bins.lot_of(item=rivets.item, name=" R-7 ", paper=paper, expires_on=ends)
    lot.refresh_from_db()
    assert (lot.name, lot.paper, lot.expires_on) == ("R-7", *kept)


def test_a_life_ends_before_a_day_while_its_lot_is_in_a_bin(rivets, ask):
    lot = bins.lot_of(item=rivets.item, name="R-7", expires_on=MARCH)
    supplier = bins.open_place(kind="supplier", name="Hangar supply")
    verbs.receive(bin=rivets, quantity=5, supplier=supplier, ask=ask(), lot=lot)
    assert [stay.lot for stay in lots.lots_ending(MAY)] == [lot]
    assert lots.lots_ending(MARCH) == []
    assert [stay.emptied_by for stay in lots.stays_of(lot)] == [None]
    verbs.count(bin=rivets, counted=0, ask=ask())
    assert lots.lots_ending(MAY) == []


def test_an_opening_is_corrected_by_its_difference(rivets, ask):
    assert queries.opening_of(rivets, rules.OPENING) is None
    less, more = (ask(reason=rules.OPENING) for _twice in range(2))
    verbs.adjust(bin=rivets, change=-10, ask=less)
    assert queries.opening_of(rivets, rules.OPENING) == -10
    for again in (False, True):
        done = verbs.adjust(bin=rivets, change=25, ask=more)
        assert done.repeated == again
    assert queries.opening_of(rivets, rules.OPENING) == 15
    assert queries.quantity_in(rivets) == 55
    assert verbs.adjust(bin=rivets, change=0, ask=ask()).movements == ()
    verbs.adjust(bin=rivets, change=-99, ask=ask())
    assert queries.quantity_in(rivets) == 0


def test_a_page_of_bins_is_searched_by_words_spot_and_number(rivets, owner):
    other = item_described(what=described("drill", size="#30"))
    bins.open_bin(item=other, by=owner, number=20, spot="rack 12")
    bins.open_bin(item=other, by=owner, number=21)
    queries.Bin.objects.filter(number=21).update(count_it=True)

    def found(skip=0, limit=9, **asked):
        rows = queries.bins_listed(queries.BinList(**asked), skip, limit)
        return [bin.number for bin in rows]

    assert found() == [12, 20, 21]
    assert found(1, 1) == [20]
    assert [bin.number for bin in queries.bins_after(12, 1)] == [20]
    assert [bin.number for bin in queries.bins_after(0, 9, "RACK 1")] == [20]
    assert found(text="#30") == [20, 21]
    assert found(text="RACK 1") == [20]
    assert found(text="12") == [12, 20]
    assert found(text="21", to_count=True) == [21]
    assert found(to_count=True) == [21]
    queries.Bin.objects.filter(number=20).update(retired_at=timezone.now())
    assert found() == [12, 21]
    assert found(retired=True) == [20]
    assert [bin.number for bin in queries.bins_after(0, 9)] == [12, 21]
    queries.Bin.objects.filter(number=20).update(retired_at=None)
    assert [bin.number for bin in queries.bins_between(12, 20)] == [12, 20]
    assert [bin.number for bin in queries.bins_of_kinds(["drill"])] == [20, 21]


def test_bins_are_listed_in_the_order_that_is_asked(rivets, owner, ask):
    """Bin 12 holds 40 counted rivets; the numbers tell nothing of the rest."""
    shorter, drill = (
        item_for_callout(text="MS20426AD3-3"),
        item_described(what=described("drill", size="#30")),
    )
    for number, item, counted in ((3, drill, 2), (5, shorter, 90), (7, shorter, None)):
        bin = bins.open_bin(item=item, by=owner, number=number)
        if counted is not None:
            verbs.count(bin=bin, counted=counted, ask=ask())
    day = timezone.now()
    for number, age in ((12, 9), (3, 5), (5, 7)):
        at = day - timedelta(days=age)
        queries.Bin.objects.filter(number=number).update(counted_at=at)
    found = {
        order: [bin.number for bin in queries.bins_listed(queries.BinList(order), 0, 9)]
        for order in rules.BinOrder
    }
    assert found == {
        "number": [3, 5, 7, 12],
        "what": [3, 5, 7, 12],
        "fewest": [7, 3, 12, 5],
        "counted": [7, 12, 5, 3],
    }
    queries.Bin.objects.filter(number=12).update(number=1)
    what = queries.BinList(rules.BinOrder.WHAT)
    assert [bin.number for bin in queries.bins_listed(what, 0, 9)] == [3, 5, 7, 1]
    assert [bin.number for bin in queries.bins_listed(what, 2, 1)] == [7]


@pytest.mark.parametrize(
    ("ask_for", "code"),
    [
        (lambda: queries.bin_numbered(99), "ledger.no_bin"),
        (lambda: queries.act_numbered(10**6), "ledger.no_act"),
        (lambda: lots.lot_numbered(10**6), "ledger.no_lot"),
        (lambda: lots.photograph_numbered(10**6), "ledger.no_photograph"),
    ],
)
def test_what_is_not_there_is_refused(rivets, ask_for, code):
    assert queries.bin_numbered(12) == rivets
    with pytest.raises(Refused) as refused:
        ask_for()
    assert refused.value.code == code


def test_tools_come_back_to_their_first_bin(rivets, owner, ask, assembly):
    item = item_described(what=described("temporary fastener", size="3/32"))
    for number in (31, 30):
        rack = bins.open_bin(item=item, by=owner, number=number)
    verbs.count(bin=rack, counted=9, ask=ask())
    for bin, quantity in ((rack, 1), (rivets, 4)):
        verbs.pull(bin=bin, quantity=quantity, to=assembly, ask=ask())
    verbs.tools_back(place=assembly, ask=ask(None))
    rack.refresh_from_db()
    assert (queries.quantity_in(rack), queries.quantity_in(rivets)) == (9, 36)
    assert (rack.count_it, len(rack.count_reason)) == (True, 160)
    assert assembly.name == "w" * 160


def test_who_pulled_most_and_how_much_on_a_day(rivets, owner, ask, now, assembly):
    done = verbs.pull(bin=rivets, quantity=7, to=assembly, ask=ask())
    key = (assembly.pk, rivets.item_id)
    assert queries.pulled_most_by([assembly.pk]) == {key: owner.pk}
    assert queries.pulled_by_day() == {now.date(): 7}
    assert queries.quantities_at([assembly.pk]) == {key: 7}
    assert queries.in_bins() == {rivets.item_id: 33}
    undoing.undo(act=done.act, ask=ask())
    assert queries.pulled_most_by([assembly.pk]) == {}
    assert queries.quantities_at([assembly.pk]) == {key: 0}


def test_losses_are_what_counts_found_lacking(rivets, ask, assembly):
    kinds = [rivets.item.kind]
    assert counts.uses_and_losses(kinds) == (0, 0)
    verbs.count(bin=rivets, counted=30, ask=ask())
    assert counts.uses_and_losses(kinds) == (0, 0)
    pull = verbs.pull(bin=rivets, quantity=7, to=assembly, ask=ask())
    verbs.count(bin=rivets, counted=20, ask=ask())
    assert counts.uses_and_losses(kinds) == (7, 3)
    # A count finds no more lacking than was in hands since the one before.
    verbs.pull(bin=rivets, quantity=2, to=assembly, ask=ask())
    verbs.count(bin=rivets, counted=9, ask=ask())
    assert counts.uses_and_losses(kinds) == (9, 5)
    undoing.undo(act=pull.act, ask=ask())
    assert counts.uses_and_losses(kinds) == (2, 2)
    assert counts.uses_and_losses(["drill"]) == (0, 0)


def test_pieces_are_lent_and_taken_back_as_far_as_they_are_out(rivets, ask):
    friend = bins.open_place(kind="borrower", name="Juniper")
    assert bins.open_place(kind="borrower", name="Juniper") == friend
    with pytest.raises(Refused, match="Juniper has 0 of"):
        verbs.get_back(bin=rivets, quantity=1, from_=friend, ask=ask())
    verbs.lend(bin=rivets, quantity=5, to=friend, ask=ask())
    assert [row.quantity for row in loans()] == [5]
    assert queries.people_outside() == ["Juniper"]
    with pytest.raises(Refused, match="take back no more"):
        verbs.get_back(bin=rivets, quantity=6, from_=friend, ask=ask())
    one = ask()
    for _twice in range(2):
        verbs.get_back(bin=rivets, quantity=5, from_=friend, ask=one)
    assert queries.quantity_in(rivets) == 40
    assert loans() == []


def test_what_is_borrowed_is_owed(rivets, ask):
    lender = bins.open_place(kind="lender", name="Juniper")
    verbs.give_back(bin=rivets, quantity=6, from_=lender, ask=ask())
    (row,) = loans([rivets.item_id])
    assert row.words == "6 borrowed from Juniper"
    verbs.lend(bin=rivets, quantity=6, to=lender, ask=ask())
    assert loans() == []


def test_the_papers_of_a_lot_are_kept_once(rivets, owner, now, tmp_path):
    lot = bins.lot_of(item=rivets.item, name="R-7")
    rows = [
        keep_photograph(
            lot=lot.pk,
            picture=b"made anew",
            caption=c,
            folder=tmp_path,
            by=owner,
            now=now,
        )
        for c in (f" {'c' * 170}", "again")
    ]
    assert rows[0] == rows[1] == lots.photograph_numbered(rows[0].pk)
    assert (rows[0].caption, lots.papers_of([lot])) == ("c" * 160, rows[:1])
    mark = hashlib.sha256(b"made anew").hexdigest()
    kept = tmp_path / "photographs" / mark[:2] / f"{mark}.jpg"
    assert kept.read_bytes() == b"made anew"


def test_pages_of_movements_go_forth_and_back(rivets, ask, assembly, owner):
    acts = [
        verbs.pull(bin=rivets, quantity=n, to=assembly, ask=ask()) for n in (1, 2, 3)
    ]
    first, second, third = (each.movements[-1].pk for each in acts)
    assert [row.pk for row in queries.movements_after(first, 1)] == [second]
    assert len(queries.movements_after()) == 4
    page = deeds(2, owner, where=at_place(assembly.pk), place=assembly.pk)
    assert [row.moved.pk for row in page] == [third, second]
    assert [row.held for row in page] == [6, 3]
    earlier = deeds(9, owner, where=at_place(assembly.pk), before=page[-1].act.pk)
    assert [row.moved.pk for row in earlier] == [first]
    assert queries.work_at(assembly) == [each.act for each in acts]


@pytest.mark.parametrize("kind", ["assembly", "borrower"])
def test_a_places_name_is_cut_to_what_is_kept(owner, kind):
    assert bins.open_place(kind=kind, name=f" {'n' * 200} ").name == "n" * 160


def test_an_empty_shop_has_nothing_to_look_at_again(owner):
    assert not want_all()
