"""SQL made once says what the ORM says: compared with the ORM itself, on either engine."""

import uuid
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.models import F, Q
from django.test.utils import CaptureQueriesContext

from inventory.catalog.actions import item_for_callout
from inventory.catalog.models import Item
from inventory.ledger.actions import updates
from inventory.ledger.models import Act, Balance, Bin, Movement, Recheck
from inventory.ledger.queries import single_place
from inventory.people.models import User
from inventory.prepared import MOST_KEPT, Prepared, insert, update
from inventory.scanning.actions import bench_called
from inventory.scanning.models import Bench, Scan

pytestmark = pytest.mark.django_db


def as_kept(row):
    """Every column of a row as the ORM reads it back."""
    return type(row).objects.filter(pk=row.pk).values().get()


def same_rows(read, *values):
    """What a prepared read and its own query give; both are run twice."""
    plain = list(read.make(*values))
    assert read(*values) == plain
    assert read(*values) == plain
    return plain


@pytest.fixture
def longer(owner):
    return item_for_callout(text="MS20426AD3-4")


def test_values_of_every_type_find_what_the_orm_finds(rivets, longer, owner, now):
    by_number = Prepared(lambda number: Bin.objects.filter(number=number))
    assert same_rows(by_number, 12) == [rivets]
    assert same_rows(by_number, 13) == []
    by_words = Prepared(lambda words: Item.objects.filter(words=words))
    assert same_rows(by_words, longer.words) == [longer]
    by_size = Prepared(lambda inches: Item.objects.filter(length_in=inches))
    assert same_rows(by_size, longer.length_in) == [longer]
    assert same_rows(by_size, Decimal("0.21875")) == [rivets.item]
    among = Prepared(lambda keys: Item.objects.filter(pk__in=keys).order_by("pk"))
    for keys in ([], [longer.pk], [rivets.item_id, longer.pk], [0] * MOST_KEPT):
        same_rows(among, keys)
    bench = bench_called(key="bench 1", person=owner, now=now)
    scan = Scan.objects.create(
        id=uuid.uuid4(), bench=bench, raw="b12", outcome={"a": [1]}, at=now, by=owner
    )
    by_id = Prepared(lambda pk: Scan.objects.filter(pk=pk))
    assert same_rows(by_id, scan.pk) == [scan]
    assert by_id.first(scan.pk).outcome == {"a": [1]}
    assert by_id.first(scan.pk).at == now
    assert by_id.first(uuid.uuid4()) is None


def test_what_is_selected_with_a_row_costs_no_read_of_its_own(rivets):
    read = Prepared(
        lambda number: (
            Bin.objects.select_related("item", "place", "last_count__by")
            .filter(number=number)
            .order_by()
        )
    )
    read(12)
    with CaptureQueriesContext(connection) as asked:
        (row,) = read(12)
        found = (row.item, row.place, row.last_count.by.username)
    assert len(asked) == 1
    assert found == (rivets.item, rivets.place, "marlow")
    Bin.objects.update(last_count=None)
    assert read.first(12).last_count is None


def test_tuples_come_as_they_are_asked_for(rivets):
    read = Prepared(
        lambda places, item: Balance.objects.filter(
            Q(place__in=places), ~Q(quantity=0), item=item
        ).values_list("place_id", "quantity", "open_ended")
    )
    assert same_rows(read, [rivets.place_id], rivets.item_id) == [
        (rivets.place_id, 40, False)
    ]


def test_a_value_that_the_query_does_not_take_is_a_mistake(rivets):
    read = Prepared(lambda number, other: Bin.objects.filter(number=number))
    with pytest.raises(ValueError, match="every value"):
        read(12, 13)


def test_sql_for_a_long_list_is_not_kept(rivets):
    read = Prepared(lambda keys: Item.objects.filter(pk__in=keys))
    read(list(range(MOST_KEPT)))
    read(list(range(MOST_KEPT + 1)))
    assert len(read.compiled) == 1


def test_a_row_is_written_as_the_orm_writes_it(rivets, owner, now):
    said = {
        "fingerprint": "f" * 64,
        "verb": "pull",
        "by": owner,
        "at": now + timedelta(microseconds=7),
        "bin": rivets,
        "doubt": Decimal("2.50"),
        "reason": "repair",
    }
    plain = Act.objects.create(**said)
    row = Act(**said)
    assert insert(row)
    assert row.pk == plain.pk + 1
    assert as_kept(row) | {"id": 0} == as_kept(plain) | {"id": 0}
    bench = bench_called(key="bench 1", person=owner, now=now)
    scan = Scan(
        id=uuid.uuid4(), bench=bench, raw="x", outcome={"é": 1}, at=now, by=owner
    )
    assert insert(scan)
    assert Scan.objects.get().outcome == {"é": 1}
    scan.raw = "other"
    with pytest.raises(IntegrityError), transaction.atomic():
        insert(scan)


def test_a_row_is_not_written_where_another_has_its_value(owner):
    assert not insert(User(username="marlow", password="x"), unless="username")
    assert User.objects.get() == owner


def test_fields_are_changed_as_the_orm_changes_them(owner, now):
    bench = bench_called(key="bench 1", person=owner, now=now)
    bench.state, bench.changed_at = {"bit": 4}, now + timedelta(seconds=1)
    bench.key = "not this one"
    update(bench, "state", "changed_at")
    kept = Bench.objects.get()
    assert (kept.key, kept.state, kept.changed_at) == (
        "bench 1",
        {"bit": 4},
        bench.changed_at,
    )


@pytest.mark.parametrize("wide", [False, True])
def test_the_ledgers_updates_say_what_the_orm_says(rivets, longer, wide):
    """Each is run once by either, on what the other left untouched."""
    aside = single_place("unplanned")
    Balance.objects.create(place=aside, item=rivets.item, open_ended=False)
    models = (Balance, Bin, Recheck, Movement)

    def outcome(work):
        with transaction.atomic():
            work()
            found = [list(model.objects.order_by("pk").values()) for model in models]
            transaction.set_rollback(True)
        return found

    def plainly():
        held = Balance.objects.filter(item=rivets.item)
        held.filter(place=rivets.place).update(quantity=F("quantity") - 7)
        held.filter(place=aside).update(quantity=F("quantity") + 7)
        Bin.objects.filter(place__in=[rivets.place, aside]).update(
            moved_since=F("moved_since") + 7
        )
        row = Recheck.objects.filter(item=rivets.item)
        row.update(wanted=F("wanted") + 1, **({"wide": True} if wide else {}))

    def in_sql():
        updates.move(rivets.item_id, 7, rivets.place_id, aside.pk)
        updates.remember_moved(7, rivets.place_id, aside.pk)
        assert updates.want_again(rivets.item_id, wide=wide)

    assert outcome(in_sql) == outcome(plainly)
    Recheck.objects.all().delete()
    assert not updates.want_again(longer.pk, wide=wide)
