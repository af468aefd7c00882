"""The proof of the record sees every planted fault, on either engine, and tells the owner."""

import uuid
from contextlib import contextmanager

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.utils.timezone import localdate

from inventory.alerts import actions as alerts
from inventory.alerts.queries import open_alerts
from inventory.ledger.actions import evidence, undoing, verbs
from inventory.ledger.actions.evidence import keep_photograph
from inventory.ledger.actions.summing import keep_sums
from inventory.ledger.models import Act, Balance, Bin, LedgerCheck, Movement, Photograph
from inventory.ledger.queries import bin_numbered
from inventory.ledger.queries.checking import expected_guards
from inventory.ledger.rules import Invariant, photograph_name
from inventory.planning.models import Assembly
from inventory.scanning.actions import Sent, bench_called, prove, scan
from inventory.scanning.models import Scan
from inventory.trade import codes
from tests.scanning.stories import furnish

pytestmark = [pytest.mark.django_db, pytest.mark.slow]
is_server = connection.vendor == "postgresql"
DEVICE = str(uuid.UUID(int=7))


@pytest.fixture
def worked(owner, ask, now, tmp_path):
    """A shop with scans, an undo and a redo, late counts, a picture; its folder."""
    furnish(owner, ask, now)
    verbs.count(bin=bin_numbered(12), counted=44, ask=ask())
    verbs.count(bin=bin_numbered(12), counted=40, ask=ask())
    skin = Assembly.objects.get(name="Skin")
    bench = bench_called(key="bench 1", person=owner, now=now)
    for at, raw in enumerate(
        [codes.make("S", skin.pk), codes.make("B", 12), "7", codes.make("B", 12)]
    ):
        sent = Sent(uuid.uuid4(), raw, 1000 * at, 1000 * at, DEVICE, at + 1)
        scan(bench=bench, sent=sent, by=owner, now=now)
    pulled = Act.objects.filter(verb="pull").latest("pk")
    gone = undoing.undo(act=pulled, ask=ask())
    undoing.undo(act=gone.act, ask=ask())
    keep_sums()
    keep_photograph(
        assembly=skin.pk,
        picture=b"a picture",
        caption="rib",
        folder=tmp_path,
        by=owner,
        now=now,
    )
    return tmp_path


def test_a_whole_record_is_proven_and_says_so(worked, now, capsys, settings):
    settings.DATA = worked
    assert prove(folder=worked, now=now) == []
    call_command("check_ledger")
    assert "every check holds" in capsys.readouterr().out


@contextmanager
def planted(*statements, table=""):
    """A fault put in past the triggers, which stand again; all is undone after."""
    with connection.cursor() as cursor:
        mark = transaction.savepoint()
        guards = {
            name: sql
            for name, sql in expected_guards().items()
            if table and name.startswith(f"inventory_{table}_")
        }
        if is_server:
            for when in ("IMMEDIATE", "DEFERRED"):
                cursor.execute(f"SET CONSTRAINTS ALL {when}")
        for name in guards:
            on = f" ON inventory_{table}" if is_server else ""
            cursor.execute(f"DROP TRIGGER {name}{on}")
        for statement in statements:
            cursor.execute(statement)
        for sql in guards.values():
            cursor.execute(sql)
        yield
        transaction.savepoint_rollback(mark)


LAST = "(SELECT max(id) FROM inventory_movement)"
FAULTS = {
    "a kept sum is raised": (
        ("UPDATE inventory_keptsum SET total = total + 1 WHERE figure = 'to_work'",),
        "",
        Invariant.RUNNING,
    ),
    "a kept sum is gone": (
        ("DELETE FROM inventory_keptsum WHERE figure = 'to_work'",),
        "",
        Invariant.RUNNING,
    ),
    "a balance is raised": (
        ("UPDATE inventory_balance SET quantity = quantity + 1 WHERE quantity > 5",),
        "",
        Invariant.CONSERVED,
    ),
    "a balance is gone": (
        ("DELETE FROM inventory_balance WHERE quantity > 5",),
        "",
        Invariant.CONSERVED,
    ),
    "a bin holds less than nothing": (
        (
            (
                "UPDATE inventory_balance SET open_ended = true, quantity = -3 "
                "WHERE quantity > 5"
            ),
        ),
        "",
        Invariant.NEVER_BELOW,
    ),
    "a bin may go below nothing": (
        ("UPDATE inventory_balance SET open_ended = true WHERE quantity > 5",),
        "",
        Invariant.NEVER_BELOW,
    ),
    "a quantity is changed": (
        (f"UPDATE inventory_movement SET quantity = quantity + 1 WHERE id = {LAST}",),
        "movement",
        Invariant.RUNNING,
    ),
    "a quantity is changed, and all that hangs on it": (
        (
            (
                "UPDATE inventory_balance SET quantity = quantity - 1 WHERE (place_id, "
                "item_id) = (SELECT target_id, item_id FROM inventory_movement WHERE id = "
                f"{LAST})"
            ),
            (
                "UPDATE inventory_balance SET quantity = quantity + 1 WHERE (place_id, "
                "item_id) = (SELECT source_id, item_id FROM inventory_movement WHERE id = "
                f"{LAST})"
            ),
            (
                "UPDATE inventory_movement SET quantity = quantity - 1, source_after = "
                f"source_after + 1, target_after = target_after - 1 WHERE id = {LAST}"
            ),
        ),
        "movement",
        Invariant.CONSERVED,
    ),
    "a movement is gone": (
        (f"DELETE FROM inventory_movement WHERE id = {LAST}",),
        "movement",
        Invariant.CONSERVED,
    ),
    "what a movement left is changed": (
        (f"UPDATE inventory_movement SET target_after = 9 WHERE id = {LAST}",),
        "movement",
        Invariant.RUNNING,
    ),
    "an act says something else": (
        ("UPDATE inventory_act SET verb = 'scrap' WHERE verb = 'pull'",),
        "act",
        Invariant.ONCE,
    ),
    "a count says something else": (
        ("UPDATE inventory_act SET counted = counted + 1 WHERE verb = 'count'",),
        "act",
        Invariant.ONCE,
    ),
    "an act is gone": (
        ("DELETE FROM inventory_act WHERE verb = 'undo'",),
        "act",
        Invariant.SOUND,
    ),
    "what moved since a count is changed": (
        ("UPDATE inventory_bin SET moved_since = moved_since + 1",),
        "",
        Invariant.RUNNING,
    ),
    "another count is taken for the last": (
        ("UPDATE inventory_bin SET last_count_id = NULL",),
        "",
        Invariant.RUNNING,
    ),
    "what a count found is changed": (
        ("UPDATE inventory_countfound SET difference = difference - 1",),
        "",
        Invariant.RUNNING,
    ),
    "an undo takes back something else": (
        ("UPDATE inventory_act SET takes_back_id = undoes_id WHERE verb = 'undo'",),
        "act",
        Invariant.ONCE,
    ),
    "a look is taken as done": (
        ("UPDATE inventory_recheck SET done = wanted + 1",),
        "",
        Invariant.LOOKED,
    ),
    "a rule of a table is lost": (
        ("DROP INDEX scan_once_a_number",),
        "",
        Invariant.SOUND,
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_fault_is_seen(worked, now, fault):
    statements, table, invariant = FAULTS[fault]
    with planted(*statements, table=table):
        assert invariant in {flaw.invariant for flaw in prove(folder=worked, now=now)}


@pytest.mark.parametrize("guard", sorted(expected_guards()))
def test_a_trigger_that_is_gone_is_seen(worked, now, guard):
    table = f" ON {guard.removesuffix('_never_changed')}" if is_server else ""
    with planted(f"DROP TRIGGER {guard}{table}"):
        (flaw,) = prove(folder=worked, now=now)
    assert flaw.invariant == Invariant.APPEND_ONLY
    assert guard in flaw.sentence


def test_a_trigger_that_refuses_nothing_is_seen(worked, now):
    if is_server:
        statements = ["ALTER TABLE inventory_movement DISABLE TRIGGER USER"]
    else:
        name = "inventory_movement_no_update"
        harmless = f"CREATE TRIGGER {name} BEFORE UPDATE ON inventory_movement BEGIN "
        statements = [f"DROP TRIGGER {name}", f"{harmless} SELECT 1; END"]
    with planted(*statements):
        (flaw,) = prove(folder=worked, now=now)
    assert flaw.invariant == Invariant.APPEND_ONLY


def test_what_only_the_database_itself_finds_is_seen(worked, now):
    """A row past a CHECK, as a torn file or a foreign program leaves it."""
    if is_server:
        rule = "balance_not_below_zero"
        with planted(f"ALTER TABLE inventory_balance DROP CONSTRAINT {rule}"):
            found = prove(folder=worked, now=now)
    else:
        with planted(
            "PRAGMA ignore_check_constraints = 1",
            "UPDATE inventory_balance SET quantity = -9 WHERE quantity > 5",
            "PRAGMA ignore_check_constraints = 0",
        ):
            found = prove(folder=worked, now=now)
    assert Invariant.SOUND in {flaw.invariant for flaw in found}


@pytest.mark.parametrize("left", [None, b"", b"a pict", b"another picture"])
def test_a_picture_that_is_gone_or_torn_is_seen_and_mended(worked, now, owner, left):
    row = Photograph.objects.get()
    file = worked / photograph_name(row.sha256)
    if left is None:
        file.unlink()
    else:
        file.write_bytes(left)
    (flaw,) = prove(folder=worked, now=now)
    assert flaw.invariant == Invariant.EVIDENCE
    again = keep_photograph(
        assembly=row.assembly_id,
        picture=b"a picture",
        caption="",
        folder=worked,
        by=owner,
        now=now,
    )
    assert again == row
    assert prove(folder=worked, now=now) == []


def test_a_picture_is_on_the_disk_before_its_row_and_before_its_name(
    tmp_path, monkeypatch
):
    """Bytes, then the name, then every folder down to it: the order a power cut needs."""
    steps = []
    plain_sync, plain_name = evidence.os.fsync, evidence.os.replace

    def fsync(handle):
        name = evidence.os.readlink(f"/proc/self/fd/{handle}")
        steps.append(("forced", name.removeprefix(str(tmp_path))))
        plain_sync(handle)

    def replace(old, new):
        steps.append(("named", str(new).removeprefix(str(tmp_path))))
        plain_name(old, new)

    monkeypatch.setattr(evidence.os, "fsync", fsync)
    monkeypatch.setattr(evidence.os, "replace", replace)
    file = tmp_path / "photographs" / "ab" / "abc.jpg"
    evidence.write_whole(file, b"bytes", within=tmp_path)
    (first, *rest) = steps
    assert first[0] == "forced"
    assert first[1].startswith("/photographs/ab/")
    assert rest == [
        ("named", "/photographs/ab/abc.jpg"),
        ("forced", "/photographs/ab"),
        ("forced", "/photographs"),
        ("forced", ""),
    ]
    assert file.stat().st_mode & 0o777 == 0o600
    assert list(file.parent.iterdir()) == [file]


def test_the_database_replaces_no_row_of_the_record(worked):
    """`REPLACE INTO` fires no delete trigger on SQLite; PostgreSQL has `ON CONFLICT`."""
    for model in (Movement, Act, Scan, Photograph):
        row = model.objects.order_by("pk").first()
        table = model._meta.db_table
        names = [field.column for field in model._meta.local_fields]
        held = ", ".join(names)
        values = f"SELECT {held} FROM {table} WHERE id = %s"
        pk = row.pk.hex if not is_server and model is Scan else row.pk
        sql = (
            f"INSERT INTO {table} ({held}) {values} "
            "ON CONFLICT (id) DO UPDATE SET id = excluded.id"
            if is_server
            else f"REPLACE INTO {table} ({held}) {values}"
        )
        with (
            pytest.raises(DatabaseError, match="never changed"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(sql, [pk])


def test_a_used_scan_id_pushes_no_older_act_out(worked):
    act = Act.objects.exclude(scan_id=None).first()
    with pytest.raises(IntegrityError), transaction.atomic():
        Act.objects.create(scan_id=act.scan_id, verb="count", by=act.by, at=act.at)


def test_the_owner_is_told_and_told_when_it_is_mended(worked, now, client, owner):
    alerts.settle(now=now)
    Balance.objects.filter(quantity__gt=5).update(quantity=4)
    found = prove(folder=worked, now=now)
    assert found
    alerts.settle(now=now)
    (alert,) = open_alerts().filter(cause="record")
    assert str(found[0]) in alert.sentence
    assert alert.act_by == localdate(now)  # dated, or it would be told last
    client.force_login(owner)
    page = client.get("/settings/").content.decode()
    assert f"<b>{len(found)} of its checks failed</b>" in page
    LedgerCheck.objects.update(found=[])
    alerts.settle_all(now=now)
    assert not open_alerts().filter(cause="record").exists()
    assert "Proven whole on" in client.get("/settings/").content.decode()


def test_the_command_fails_where_a_check_does(worked, settings, capsys):
    settings.DATA = worked
    Balance.objects.filter(quantity__gt=5).update(quantity=4)
    with pytest.raises(CommandError, match="flaws"):
        call_command("check_ledger")
    assert "the balance says 4" in capsys.readouterr().err


def test_running_figures_that_lie_are_mended_on_the_page(
    worked, settings, client, owner
):
    settings.DATA = worked
    client.force_login(owner)
    before = dict(Balance.objects.values_list("pk", "quantity"))
    wrong = Balance.objects.filter(quantity__gt=5, place__kind="bin")
    bins = set(wrong.values_list("place__bin", flat=True))
    Bin.objects.update(count_it=False, moved_since=9)
    wrong.update(quantity=4)
    page = client.post("/settings/record/", follow=True).content.decode()
    assert f"{len(bins)} balances were set to what the movements say" in page
    assert "Proven whole on" in page
    assert dict(Balance.objects.values_list("pk", "quantity")) == before
    assert set(Bin.objects.filter(count_it=True).values_list("pk", flat=True)) == bins
    # What holds needs no mending.
    again = client.post("/settings/record/", follow=True).content.decode()
    assert "0 balances were set" in again


def test_a_bin_that_its_movements_put_below_nothing_is_left_alone(
    worked, settings, client, owner
):
    settings.DATA = worked
    client.force_login(owner)
    with planted(
        f"UPDATE inventory_movement SET quantity = 5000 WHERE id = {LAST}",
        table="movement",
    ):
        page = client.post("/settings/record/", follow=True).content.decode()
        assert "checks still fail" in page
