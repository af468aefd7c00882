"""What people do with pieces, and what the ledger makes of it."""

from dataclasses import replace

import pytest
from django.db import DatabaseError, connection, transaction

from inventory.errors import Refused
from inventory.ledger import queries
from inventory.ledger.actions import bins, undoing, verbs
from inventory.ledger.actions.posting import fail_recheck
from inventory.ledger.models import Act, Balance, Movement
from inventory.ledger.queries import lots
from inventory.ledger.rules import Invariant
from inventory.planning.models import Assembly, Build, Stage

pytestmark = pytest.mark.django_db


@pytest.fixture
def assembly(db):
    """A place to pull for."""
    return bins.open_place(kind="assembly", name="Fin / skin")


def at(place, bin):
    return queries.quantities_at([place.pk]).get((place.pk, bin.item_id), 0)


def test_a_pull_moves_from_bin_to_assembly(rivets, assembly, ask):
    done = verbs.pull(bin=rivets, quantity=30, to=assembly, ask=ask())
    assert (queries.quantity_in(rivets), at(assembly, rivets)) == (10, 30)
    row = done.movements[-1]
    assert (row.source_after, row.target_after, done.beyond) == (10, 30, 0)
    assert queries.flaws() == []


def test_a_pull_beyond_the_record_is_news_not_an_error(rivets, assembly, ask):
    # README: the hand is right. 64 out of a record of 40 books 24 from the difference.
    done = verbs.pull(bin=rivets, quantity=64, to=assembly, ask=ask())
    rivets.refresh_from_db()
    difference = queries.single_place("count_difference")
    assert done.beyond == 24
    assert (queries.quantity_in(rivets), at(assembly, rivets)) == (0, 64)
    assert at(difference, rivets) == -(40 + 24)
    assert rivets.count_it
    assert "24" in rivets.count_reason
    assert queries.flaws() == []


def test_every_items_sum_over_all_places_is_zero(rivets, assembly, ask):
    verbs.pull(bin=rivets, quantity=64, to=assembly, ask=ask())
    verbs.scrap(bin=rivets, quantity=8, from_=assembly, ask=ask())
    verbs.give_back(bin=rivets, quantity=20, from_=assembly, ask=ask())
    verbs.count(bin=rivets, counted=17, ask=ask())
    total = sum(Balance.objects.values_list("quantity", flat=True))
    assert total == 0
    assert queries.flaws() == []


def test_used_30_with_8_drilled_out_means_38_gone(rivets, assembly, ask):
    verbs.pull(bin=rivets, quantity=38, to=assembly, ask=ask())
    verbs.scrap(bin=rivets, quantity=8, from_=assembly, ask=ask())
    assert queries.quantity_in(rivets) == 2
    assert at(assembly, rivets) == 30
    assert queries.scrapped_from([assembly.pk]) == {(assembly.pk, rivets.item_id): 8}


def test_the_same_scan_id_moves_once_and_answers_the_same(rivets, assembly, ask):
    one = ask()
    first = verbs.pull(bin=rivets, quantity=5, to=assembly, ask=one)
    again = verbs.pull(bin=rivets, quantity=5, to=assembly, ask=one)
    assert (again.act, again.movements) == (first.act, first.movements)
    assert again.repeated
    assert queries.quantity_in(rivets) == 35


def test_the_same_scan_id_for_something_else_is_refused(rivets, assembly, ask):
    one = ask()
    verbs.pull(bin=rivets, quantity=5, to=assembly, ask=one)
    with pytest.raises(Refused) as refusal:
        verbs.pull(bin=rivets, quantity=6, to=assembly, ask=one)
    assert refusal.value.code == "ledger.scan_id_reused"
    assert queries.quantity_in(rivets) == 35


def test_an_id_has_the_form_of_a_uuid_in_either_case(rivets, assembly, ask):
    one = ask()
    verbs.pull(bin=rivets, quantity=5, to=assembly, ask=one)
    loud = replace(one, scan_id=one.scan_id.upper())
    assert verbs.pull(bin=rivets, quantity=5, to=assembly, ask=loud).repeated
    with pytest.raises(Refused, match="form of a UUID"):
        verbs.pull(bin=rivets, quantity=5, to=assembly, ask=ask("none"))


def test_a_count_books_the_difference_and_clears_the_mark(rivets, assembly, ask):
    verbs.pull(bin=rivets, quantity=64, to=assembly, ask=ask())
    verbs.count(bin=rivets, counted=11, ask=ask())
    rivets.refresh_from_db()
    assert queries.quantity_in(rivets) == 11
    assert not rivets.count_it


def test_a_count_that_agrees_moves_nothing_but_is_remembered(rivets, ask):
    one = ask()
    done = verbs.count(bin=rivets, counted=40, ask=one)
    assert done.movements == ()
    assert verbs.count(bin=rivets, counted=40, ask=one).act == done.act


def test_undo_reverses_and_names_what_it_reverses(rivets, assembly, ask):
    done = verbs.pull(bin=rivets, quantity=64, to=assembly, ask=ask())
    back = undoing.undo(act=done.act, ask=ask())
    assert (queries.quantity_in(rivets), at(assembly, rivets)) == (40, 0)
    assert {row.corrects_id for row in back.movements} == {
        row.pk for row in done.movements
    }
    with pytest.raises(Refused, match="undone already"):
        undoing.undo(act=done.act, ask=ask())


def test_an_undo_can_be_undone(rivets, assembly, ask):
    done = verbs.pull(bin=rivets, quantity=5, to=assembly, ask=ask())
    back = undoing.undo(act=done.act, ask=ask())
    undoing.undo(act=back.act, ask=ask())
    assert queries.quantity_in(rivets) == 35
    assert queries.flaws() == []


def test_a_correction_of_scrap_is_no_consumption(rivets, assembly, ask):
    verbs.pull(bin=rivets, quantity=20, to=assembly, ask=ask())
    scrapped = verbs.scrap(bin=rivets, quantity=8, from_=assembly, ask=ask())
    undoing.undo(act=scrapped.act, ask=ask())
    assert (
        queries.scrapped_from([assembly.pk]).get((assembly.pk, rivets.item_id), 0) == 0
    )


def test_items_must_not_mix_in_a_move(rivets, owner, ask):
    from inventory.catalog.actions import item_for_callout  # noqa: PLC0415

    other = bins.open_bin(
        item=item_for_callout(text="MS20426AD3-3"), by=owner, number=13
    )
    with pytest.raises(Refused, match="must not mix"):
        verbs.move(bin=rivets, quantity=1, to=other, ask=ask())
    assert queries.quantity_in(rivets) == 40


def test_lending_keeps_pieces_ours_but_not_on_the_rack(rivets, ask):
    neighbour = bins.open_place(kind="borrower", name="the hangar next door")
    verbs.lend(bin=rivets, quantity=15, to=neighbour, ask=ask())
    assert queries.owned()[rivets.item_id] == 25
    verbs.give_back(bin=rivets, quantity=15, from_=neighbour, ask=ask())
    assert queries.owned()[rivets.item_id] == 40


@pytest.mark.parametrize("bad", [0, -1, 10**9, "six", "1e3", "", None, 1.5, "٣", True])
def test_no_quantity_but_a_whole_one_moves_anything(rivets, assembly, ask, bad):
    before = Act.objects.count()
    with pytest.raises(Refused, match="no quantity"):
        verbs.pull(bin=rivets, quantity=bad, to=assembly, ask=ask())
    assert Act.objects.count() == before


@pytest.mark.parametrize(
    "change",
    [
        lambda: Movement.objects.update(quantity=1),
        lambda: Movement.objects.all().delete(),
        lambda: Movement.objects.first().delete(),
        lambda: Act.objects.update(reason="another"),
        lambda: Act.objects.first().save(),
        lambda: connection.cursor().execute("DELETE FROM inventory_movement"),
        lambda: connection.cursor().execute("UPDATE inventory_act SET reason = 'x'"),
        lambda: (
            Movement.objects.bulk_update([Movement(pk=1, quantity=9)], ["quantity"])
            or Movement.objects.filter(quantity=9).update(quantity=9)
        ),
    ],
)
def test_the_database_refuses_to_change_what_was_written(rivets, change):
    before = list(Movement.objects.values_list())
    try:
        with transaction.atomic():
            change()
    except DatabaseError:
        pass
    assert list(Movement.objects.values_list()) == before


def test_the_triggers_are_what_refuses(rivets):
    with pytest.raises(DatabaseError, match="post a correction"), transaction.atomic():
        Movement.objects.update(quantity=1)
    with pytest.raises(DatabaseError, match="post a correction"), transaction.atomic():
        connection.cursor().execute("DELETE FROM inventory_act")


def test_the_database_refuses_a_bin_below_zero(rivets):
    with (
        pytest.raises(DatabaseError, match="balance_not_below_zero"),
        transaction.atomic(),
    ):
        Balance.objects.filter(place=rivets.place).update(quantity=-1)


def test_check_ledger_finds_a_balance_that_lies(rivets):
    assert queries.flaws() == []
    Balance.objects.filter(place=rivets.place).update(quantity=41)
    (flaw,) = queries.flaws()
    assert flaw.invariant == Invariant.CONSERVED
    assert "the balance says 41, the movements sum to 40" in flaw.sentence
    Balance.objects.filter(place=rivets.place).delete()
    (flaw,) = queries.flaws()
    assert "the balance says 0, the movements sum to 40" in flaw.sentence


def test_a_recall_names_every_place_that_pulled_while_the_lot_was_there(
    rivets, assembly, ask
):
    supplier = bins.open_place(kind="supplier", name="Hangar supply")
    early = bins.open_place(kind="assembly", name="Rudder")
    late = bins.open_place(kind="assembly", name="Wing")
    verbs.pull(bin=rivets, quantity=5, to=early, ask=ask())
    lot = bins.lot_of(item=rivets.item, name="R-77", paper="P-1")
    verbs.receive(bin=rivets, quantity=100, supplier=supplier, ask=ask(), lot=lot)
    verbs.pull(bin=rivets, quantity=10, to=assembly, ask=ask())
    verbs.count(bin=rivets, counted=0, ask=ask())
    verbs.receive(bin=rivets, quantity=50, supplier=supplier, ask=ask())
    verbs.pull(bin=rivets, quantity=10, to=late, ask=ask())
    assert [each.place.name for each in lots.recall(lot)] == [assembly.name]
    assert lots.lots_at(assembly) == {rivets.item_id: [lot]}
    assert lots.lots_at(early) == lots.lots_at(late) == {}
    assert list(lots.lots_in(rivets)) == []


def test_a_tin_holds_two_lots(rivets, ask):
    supplier = bins.open_place(kind="supplier", name="Hangar supply")
    for name in ("R-77", "R-78"):
        lot = bins.lot_of(item=rivets.item, name=name)
        verbs.receive(bin=rivets, quantity=9, supplier=supplier, ask=ask(), lot=lot)
    assert {stay.lot.name for stay in lots.lots_in(rivets)} == {"R-77", "R-78"}


def test_a_movement_asks_for_a_recheck(rivets, assembly, ask):
    from inventory.ledger.actions.posting import settle_rechecks  # noqa: PLC0415

    def wanted():
        return {row.item_id: row.wanted for row in queries.rechecks()}

    settle_rechecks(wanted())
    assert queries.rechecks() == []
    verbs.pull(bin=rivets, quantity=1, to=assembly, ask=ask())
    assert [row.item_id for row in queries.rechecks()] == [rivets.item_id]
    read = wanted()
    verbs.scrap(bin=rivets, quantity=1, from_=assembly, ask=ask())
    settle_rechecks(read)
    assert [row.wide for row in queries.rechecks()] == [True]
    settle_rechecks(wanted())
    verbs.pull(bin=rivets, quantity=1, to=assembly, ask=ask())
    assert [row.wide for row in queries.rechecks()] == [False]


def test_a_look_that_failed_is_no_wide_wish_any_more_and_is_tried_again(
    rivets, assembly, ask
):
    verbs.pull(bin=rivets, quantity=1, to=assembly, ask=ask())
    verbs.scrap(bin=rivets, quantity=1, from_=assembly, ask=ask())
    (row,) = queries.rechecks()
    assert row.wide
    fail_recheck(row.item_id, row.wanted)
    (row,) = queries.rechecks()
    assert (row.wide, row.attempts) == (False, 1)


def test_closing_brings_tools_back_and_asks_for_a_count(owner, ask, now):
    from inventory.catalog.actions import item_described  # noqa: PLC0415
    from inventory.catalog.rules import described  # noqa: PLC0415
    from inventory.planning.actions.working import (  # noqa: PLC0415
        close,
        place_to_pull_for,
    )

    item = item_described(what=described("temporary fastener", size="3/32"))
    rack = bins.open_bin(item=item, by=owner, number=30)
    verbs.count(bin=rack, counted=200, ask=ask())
    stage = Stage.objects.create(
        build=Build.objects.create(name="Two-seater"), position=1, name="Wing"
    )
    wing = Assembly.objects.create(stage=stage, position=1, name="Skins")
    place = place_to_pull_for(assembly=wing, by=owner, now=now)
    verbs.pull(bin=rack, quantity=150, to=place, ask=ask())
    close(assembly=Assembly.objects.get(pk=wing.pk), by=owner, now=now)
    rack.refresh_from_db()
    assert queries.quantity_in(rack) == 200
    assert rack.count_it
