"""A backup is the whole shop, proven; damaged, newer or torn it is never put back."""

import random
import shutil
import sqlite3
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse
from django.utils import timezone
from django.utils.timezone import localdate

from inventory.alerts.queries.finding import findings
from inventory.backups import rules, snapshot, tasks
from inventory.backups.actions import backing as actions
from inventory.backups.actions.backing import note, put_back
from inventory.backups.queries import (
    FOLDER,
    backups_in,
    last_backup,
    second_folder,
    why_failed,
)
from inventory.backups.snapshot import DATABASE, opened
from inventory.errors import Refused
from inventory.people.models import Shop
from tests.management.test_moving import CONTENTS, new_shop, run, spoil

AT = datetime(2026, 11, 28, 2, 15, 30, tzinfo=UTC)
# A plan, a bin that was counted and pulled from, a photograph.
SHOP = """
import django, io
django.setup()
from pathlib import Path
from django.conf import settings
from django.utils import timezone
from PIL import Image
from inventory.catalog.actions import item_for_callout
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.actions.evidence import keep_photograph
from inventory.ledger.actions.posting import Ask
from inventory.ledger.queries import single_place
from inventory.people.models import User
from inventory.photos.opening import evidence_photo
from inventory.planning.actions import importing
from inventory.planning.models import Assembly
by, now = User.objects.create_user("marlow"), timezone.now()
bin = open_bin(item=item_for_callout(text="MS20426AD3-3.5"), by=by, number=12)
verbs.count(bin=bin, counted=40, ask=Ask(by=by, now=now))
verbs.pull(bin=bin, quantity=7, to=single_place("unplanned"), ask=Ask(by=by, now=now))
plan = b"stage,assembly,callout,each\\nFin,Spar,MS20426AD3-3.5,30\\n"
importing.apply(found=importing.preview(name="p.csv", data=plan), by=by, now=now)
Image.new("RGB", (60, 40), (9, 90, 200)).save(out := io.BytesIO(), "PNG")
keep_photograph(assembly=Assembly.objects.get().pk, caption="Left side",
    picture=evidence_photo(out.getvalue()), folder=Path(settings.DATA), by=by, now=now)
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory, ready_tables):
    """The folder of a shop with one backup."""
    found = new_shop(tmp_path_factory.mktemp("shop"), ready_tables)
    run(found, "-c", SHOP)
    run(found, "manage.py", "backup")
    return found


@pytest.fixture
def file(folder):
    """Its backup."""
    return last_backup(folder).file


@pytest.mark.slow
def test_what_is_put_back_is_the_whole_shop(folder, file, tmp_path):
    assert (file.stat().st_mode & 0o077) == 0
    fresh = tmp_path / "fresh"
    said = put_back(file=file, folder=fresh, now=AT)
    assert run(fresh, "-c", CONTENTS) == run(folder, "-c", CONTENTS)
    (name,) = said.photographs
    assert (fresh / name).read_bytes() == (folder / name).read_bytes()
    assert not list(fresh.glob(".*"))


@pytest.mark.slow
def test_the_shop_that_was_there_stands_aside(folder, file, tmp_path, monkeypatch):
    there = tmp_path / "there"
    there.mkdir()
    (there / DATABASE).write_bytes(b"an older shop")
    monkeypatch.setenv("GRIPCOUNT_DATA", str(there))
    with pytest.raises(CommandError, match="holds a shop already"):
        call_command("restore", file)
    call_command("restore", file, "--replace")
    (aside,) = there.glob(f"before-*-{DATABASE}")
    assert aside.read_bytes() == b"an older shop"
    assert run(there, "-c", CONTENTS) == run(folder, "-c", CONTENTS)


@pytest.mark.slow
def test_every_damage_is_seen(file, tmp_path):
    whole, draw = file.read_bytes(), random.Random(14)
    torn = tmp_path / file.name
    for _flip in range(100):
        data = bytearray(whole)
        data[draw.randrange(len(data))] ^= 1 << draw.randrange(8)
        torn.write_bytes(data)
        with pytest.raises(Refused, match="damaged"):
            opened(torn, tmp_path)
    for length in (0, 10, 64, len(whole) // 2, len(whole) - 1):
        torn.write_bytes(whole[:length])
        with pytest.raises(Refused, match="damaged"):
            opened(torn, tmp_path)
    with pytest.raises(Refused, match="cannot be read"):
        put_back(file=tmp_path / "none.zip", folder=tmp_path / "x", now=AT)


@pytest.mark.slow
def test_a_newer_shop_a_missing_and_a_damaged_picture_change_nothing(file, tmp_path):
    there, place = tmp_path / "there", tmp_path / "copied"
    shutil.copytree(file.parent, place)
    mine = place / file.name
    (picture,) = (place / "photographs").rglob("*.jpg")
    kept = picture.read_bytes()
    picture.write_bytes(kept[:-1] + b"x")
    with pytest.raises(Refused, match="is damaged"):
        put_back(file=mine, folder=there, now=AT)
    picture.unlink()
    with pytest.raises(Refused, match="photographs lie beside the backup"):
        put_back(file=mine, folder=there, now=AT)
    picture.write_bytes(kept)
    said = opened(mine, tmp_path)
    newer = replace(said, migrations=[*said.migrations, "inventory.9999_later"])
    snapshot.seal(mine, tmp_path / DATABASE, newer)
    with pytest.raises(Refused, match="newer Gripcount"):
        put_back(file=mine, folder=there, now=AT)
    assert list(there.iterdir()) == []


@pytest.mark.slow
def test_a_shop_that_does_not_hold_is_backed_up_as_it_is_and_says_so(folder, tmp_path):
    spoilt, there = tmp_path / "spoilt", tmp_path / "there"
    shutil.copytree(folder, spoilt, ignore=shutil.ignore_patterns(FOLDER))
    spoil(spoilt, "UPDATE inventory_balance SET quantity = quantity + 1")
    with pytest.raises(AssertionError, match="was backed up as it is"):
        run(spoilt, "manage.py", "backup")
    made = last_backup(spoilt).file
    with pytest.raises(Refused, match="does not hold"):
        put_back(file=made, folder=there, now=AT)
    put_back(file=made, folder=there, now=AT, as_it_is=True)
    assert run(there, "-c", CONTENTS) == run(spoilt, "-c", CONTENTS)


@pytest.mark.django_db
def test_a_copy_that_is_worse_than_the_shop_is_no_backup(tmp_path, monkeypatch):
    def torn(taken):
        taken.write_bytes(b"SQLite format 3" + b"x" * 9000)

    monkeypatch.setattr(actions, "_take", torn)
    with pytest.raises(Refused, match="does not hold"):
        actions.back_up(folder=tmp_path, now=AT)
    assert list((tmp_path / FOLDER).iterdir()) == []


@pytest.mark.unmeasured
@pytest.mark.slow
def test_a_second_folder_has_all_or_is_missed_in_words(folder, tmp_path):
    own, stick = tmp_path / "own", tmp_path / "stick"
    shutil.copytree(folder, own)
    with pytest.raises(AssertionError, match="put the stick in"):
        run(own, "manage.py", "backup", "--to", str(stick))
    # Of one day the newest is kept.
    assert last_backup(own).at > last_backup(folder).at
    assert len(backups_in(own / FOLDER)) == 1
    assert not second_folder(str(stick)).is_there
    stick.mkdir()
    another = stick / rules.name_at(AT - timedelta(days=3000))
    another.write_bytes(b"of another shop")
    run(own, "manage.py", "backup", "--to", str(stick))
    newest = second_folder(str(stick)).last
    assert newest.file.name == last_backup(own).file.name
    assert another.exists()
    (picture,) = (stick / "photographs").rglob("*.jpg")
    assert (
        picture.read_bytes() == (own / FOLDER / picture.relative_to(stick)).read_bytes()
    )


@pytest.mark.unmeasured
@pytest.mark.slow
def test_it_is_whole_while_others_write(folder, tmp_path):
    """A writer that never rests; each copy is proven before it has its name."""
    busy = tmp_path / "busy"
    shutil.copytree(folder, busy)
    writing = (
        "import sqlite3, sys, itertools\n"
        "base = sqlite3.connect(sys.argv[1], timeout=20, isolation_level=None)\n"
        "for n in itertools.count():\n"
        "    base.execute('UPDATE inventory_shop SET pace_days = ?', (n % 90 + 1,))\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", writing, str(busy / DATABASE)]
    ) as writer:
        try:
            run(busy, "manage.py", "backup")
            assert writer.poll() is None
        finally:
            writer.kill()
    place = tmp_path / "unpacked"
    place.mkdir()
    opened(last_backup(busy).file, place)
    with sqlite3.connect(place / DATABASE) as base:
        assert base.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_seven_days_four_weeks_and_twelve_months_are_kept():
    every = [AT - timedelta(days=n, hours=h) for n in range(800) for h in (0, 1)]
    kept = sorted(rules.kept(every), reverse=True)
    assert kept[:7] == [AT - timedelta(days=n) for n in range(7)]
    assert len({(at.year, at.month) for at in kept}) == 12
    assert 7 + 12 <= len(kept) <= 7 + 4 + 12
    assert rules.kept(kept) == set(kept)
    assert rules.kept([AT]) == {AT}


@pytest.mark.django_db
def test_the_worker_makes_one_a_day(settings, monkeypatch, tmp_path):
    settings.DATA, at, told = tmp_path, [AT], []

    def made(*, folder, now, second_folder):
        told.append(second_folder)
        if second_folder:
            raise Refused("backup.no_folder", "put the stick in")
        (folder / FOLDER).mkdir(exist_ok=True)
        (folder / FOLDER / rules.name_at(now)).touch()
        return folder / FOLDER / rules.name_at(now)

    monkeypatch.setattr(tasks, "back_up", made)
    monkeypatch.setattr(tasks.timezone, "now", lambda: at[0])
    assert tasks.keep_backups() == "gripcount-20261128T021530Z.zip"
    at[0] += timedelta(hours=23)
    assert tasks.keep_backups() == ""
    assert tasks.keep_backups(at_once=True) == "gripcount-20261129T011530Z.zip"
    Shop.objects.update(backup_folder="/nowhere/at/all")
    at[0] += timedelta(days=1)
    assert tasks.keep_backups() == "put the stick in"
    assert why_failed(tmp_path) == "put the stick in"
    Shop.objects.update(backup_folder="")
    tasks.keep_backups()
    assert why_failed(tmp_path) == ""
    assert told == ["", "", "/nowhere/at/all", ""]


@pytest.mark.django_db
def test_the_settings_and_an_alert_say_how_old_the_last_is(
    settings, client, owner, tmp_path
):
    settings.DATA = tmp_path
    client.force_login(owner)
    place, today = tmp_path / FOLDER, localdate()

    def told():
        return [row.sentence for row in findings(today) if row.cause == "backup"]

    def page():
        return client.get(reverse("settings")).content.decode()

    assert "None\n  yet" in page()
    assert told() == []
    place.mkdir()
    for age, is_old in ((8, True), (7, False)):
        (place / rules.name_at(timezone.now() - timedelta(days=age))).touch()
        assert bool(told()) == is_old
    assert "proven by putting it back" in page()
    note(folder=tmp_path, why="Put the stick in.")
    assert told()[0].endswith("Put the stick in.")
    note(folder=tmp_path, why="")
    assert told() == []
    Shop.objects.update(backup_folder=str(tmp_path / "gone"))
    assert "is not there</b>" in page()
