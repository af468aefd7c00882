"""Everything goes out as one file and into an empty shop of either engine, or not at all.

That the lines are what the schemas say is judged by another reader of JSON Schema
(draft 2020-12): the library jsonschema.
"""

import json
import random
import re
import shutil
import zipfile
from dataclasses import replace

import psycopg
import pytest
from django.core.management import CommandError, call_command
from jsonschema import Draft202012Validator

from inventory.backups import archive
from inventory.backups.actions.backing import put_back
from inventory.backups.archive import manifest_of, write_manifest, write_pictures
from inventory.backups.queries import last_backup
from inventory.backups.sealed import sealing
from inventory.errors import Refused
from tests.management.test_backups import AT, SHOP
from tests.management.test_moving import CONTENTS, empty, new_shop, run, tables

__all__ = ["empty"]  # a fixture

# What an older Gripcount's archive holds: its tables of then, by Django's own history.
OLDER = """
import django, sys
django.setup()
from datetime import UTC, datetime
from pathlib import Path
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from inventory.backups.archive import (FORM, ArchiveManifest, write_manifest,
    write_tables)
from inventory.backups.copying import SOURCE, applied_migrations, pages
from inventory.backups.sealed import sealing
last = [("inventory", "0049_heartbeat")]
MigrationExecutor(connection).migrate(last)
then = MigrationExecutor(connection).loader.project_state(last).apps
made = datetime(2026, 11, 27, 19, tzinfo=UTC)
user = then.get_model("inventory.User").objects.create(
    username="marlow", is_superuser=True, date_joined=made)
Place = then.get_model("inventory.Place")
place = Place.objects.create(kind="bin", name="bin 12")
item = then.get_model("inventory.Item").objects.create(
    kind="solid_rivet", key="k", words="3/32 flush", callout="MS20426AD3-3.5")
bin = then.get_model("inventory.Bin").objects.create(place=place, number=12, item=item)
tables = [each for each in then.get_models()
    if each._meta.app_label == "inventory" and not each._meta.auto_created]
with sealing(Path(sys.argv[1])) as box:
    rows = {each: pages(each, SOURCE) for each in tables}
    write_manifest(box, ArchiveManifest(FORM, made.isoformat(), applied_migrations(),
        write_tables(box, rows), [], []))
"""


@pytest.fixture(scope="module")
def shop(tmp_path_factory, ready_tables):
    """The folder of a shop with something in it: a plan, a count, a pull, a picture."""
    found = new_shop(tmp_path_factory.mktemp("shop"), ready_tables)
    run(found, "-c", SHOP)
    return found


@pytest.fixture(scope="module")
def file(shop):
    """Its archive."""
    made = shop / "out.zip"
    said = run(shop, "manage.py", "take_out", str(made))
    assert "and 1 photographs" in said
    return made


def rewritten(file, into, *, table="", change=lambda text: text, **manifest):
    """The same archive with a changed table or manifest, sealed again."""
    said = replace(manifest_of(file), **manifest)
    with zipfile.ZipFile(file) as old, sealing(into) as box:
        for name in old.namelist():
            data = old.read(name)
            if name == f"tables/{table}.jsonl":
                data = change(data.decode()).encode()
            if name not in {archive.MANIFEST, archive.README, *said.photographs}:
                box.writestr(name, data)
        write_pictures(box, said.photographs, file.parent)
        write_manifest(box, said)
    return into


@pytest.mark.slow
def test_what_goes_out_is_what_goes_in_on_either_engine(shop, file, empty, tmp_path):
    assert (file.stat().st_mode & 0o077) == 0
    before = run(shop, "-c", CONTENTS)
    for surroundings in ({}, {"GRIPCOUNT_DATABASE": empty}):
        fresh = tmp_path / f"fresh{len(surroundings)}"
        said = run(fresh, "manage.py", "take_in", str(file), **surroundings)
        assert "proven whole" in said
        assert run(fresh, "-c", CONTENTS, **surroundings) == before
        (picture,) = (fresh / "photographs").rglob("*.jpg")
        there = shop / picture.relative_to(fresh)
        assert picture.read_bytes() == there.read_bytes()
        again = tmp_path / f"again{len(surroundings)}.zip"
        run(fresh, "manage.py", "take_out", str(again), **surroundings)
        assert manifest_of(again).tables == manifest_of(file).tables
        # What is done next has a number of its own, and is done.
        run(fresh, "-c", NEXT, **surroundings)
        with pytest.raises(AssertionError, match="This shop is in use"):
            run(fresh, "manage.py", "take_in", str(file), **surroundings)


NEXT = """
import django
django.setup()
from pathlib import Path
from django.conf import settings
from django.utils import timezone
from inventory.ledger.actions import verbs
from inventory.ledger.actions.posting import Ask
from inventory.ledger.queries import bin_numbered, flaws, quantity_in
from inventory.people.models import User
ask = Ask(by=User.objects.get(username="marlow"), now=timezone.now())
verbs.count(bin=bin_numbered(12), counted=21, ask=ask)
assert quantity_in(bin_numbered(12)) == 21
assert not flaws(Path(settings.DATA))
"""


@pytest.mark.slow
def test_every_line_is_what_its_schema_says(file):
    with zipfile.ZipFile(file) as box:
        names = [name for name in box.namelist() if name.startswith("tables/")]
        lines = 0
        for name in names:
            table = name.removeprefix("tables/").removesuffix(".jsonl")
            schema = json.loads(box.read(f"schema/{table}.json"))
            Draft202012Validator.check_schema(schema)
            judge = Draft202012Validator(schema)
            for line in box.read(name).splitlines():
                judge.validate(json.loads(line))
                lines += 1
        assert lines == sum(each.rows for each in manifest_of(file).tables.values())
        (pull,) = [
            json.loads(line)
            for line in box.read("tables/inventory_movement.jsonl").splitlines()
            if json.loads(line)["quantity"] == 7
        ]
        assert (pull["source_after"], pull["target_after"]) == (33, 7)
        assert b"any program can read" in box.read(archive.README)
        assert box.testzip() is None


@pytest.mark.slow
def test_what_is_damaged_newer_or_no_archive_changes_nothing(
    shop, file, tmp_path, monkeypatch
):
    there, torn = tmp_path / "there", tmp_path / "torn.zip"
    monkeypatch.setenv("GRIPCOUNT_DATA", str(there))

    def refused(which):
        with pytest.raises(CommandError, match="othing was taken in") as said:
            call_command("take_in", which)
        assert not list(there.glob("gripcount*"))
        assert not list(there.rglob("*.jpg"))
        return str(said.value)

    whole, draw = file.read_bytes(), random.Random(15)
    for _flip in range(50):
        data = bytearray(whole)
        data[draw.randrange(len(data))] ^= 1 << draw.randrange(8)
        torn.write_bytes(data)
        assert "is damaged" in refused(torn)
    for length in (0, 64, len(whole) // 2, len(whole) - 1):
        torn.write_bytes(whole[:length])
        assert "is damaged" in refused(torn)
    assert "cannot be read" in refused(tmp_path / "none.zip")
    later = [*manifest_of(file).migrations, "inventory.9999_later"]
    rewritten(file, torn, migrations=later)
    assert "newer Gripcount" in refused(torn)

    (picture,) = manifest_of(file).photographs
    mine = shop / picture
    away = f"photographs/../../../{mine.name}"
    (shop / away).resolve().write_bytes(mine.read_bytes())
    rewritten(file, torn, photographs=[picture, away])
    assert "is damaged" in refused(torn)
    assert not (there / away).resolve().exists()

    run(shop, "manage.py", "backup")
    assert "manage.py restore puts it back" in refused(last_backup(shop).file)
    with pytest.raises(Refused, match=r"manage\.py take_in takes it in"):
        put_back(file=file, folder=tmp_path / "put", now=AT)


@pytest.mark.unmeasured
@pytest.mark.slow
def test_what_does_not_come_out_equal_or_whole_stands_nowhere(file, empty, tmp_path):
    """Somebody wrote into it and sealed it again."""

    def more(text):
        return text.replace('"quantity": 33}', '"quantity": 34}')

    with zipfile.ZipFile(file) as box:
        text = box.read("tables/inventory_balance.jsonl").decode()
    assert more(text) != text
    changed = manifest_of(file).tables["inventory_balance"]
    with pytest.raises(AssertionError, match="inventory_balance came out otherwise"):
        into(tmp_path / "a", file, tmp_path, change=more)
    mark = archive.hashlib.sha256(more(text).encode()).hexdigest()
    spoilt = manifest_of(file).tables | {
        "inventory_balance": replace(changed, mark=mark)
    }
    for number, engine in enumerate(({}, {"GRIPCOUNT_DATABASE": empty})):
        fresh = tmp_path / f"b{number}"
        with pytest.raises(AssertionError, match="holds does not hold"):
            into(fresh, file, tmp_path, change=more, spoilt=spoilt, **engine)
        assert not list(fresh.glob("gripcount*"))
        assert not list(fresh.rglob("*.jpg"))
    assert tables(empty) == set()
    with pytest.raises(AssertionError, match="inventory_balance cannot be read"):
        into(tmp_path / "c", file, tmp_path, change=lambda text: text[:-9])


def into(fresh, file, folder, *, change, spoilt=None, **engine):
    """Take a rewritten archive into a fresh shop."""
    told = {"tables": spoilt} if spoilt else {}
    made = rewritten(
        file,
        folder / "rewritten.zip",
        table="inventory_balance",
        change=change,
        **told,
    )
    return run(fresh, "manage.py", "take_in", str(made), **engine)


@pytest.mark.unmeasured
@pytest.mark.slow
def test_an_older_shops_archive_is_brought_forward(empty, tmp_path):
    old, made = tmp_path / "old", tmp_path / "old.zip"
    old.mkdir()
    run(old, "-c", OLDER, str(made))
    fresh, engine = tmp_path / "fresh", {"GRIPCOUNT_DATABASE": empty}
    run(fresh, "manage.py", "take_in", str(made), **engine)
    run(fresh, "-c", NEXT, **engine)
    run(fresh, "manage.py", "migrate", "--check", **engine)
    with psycopg.connect(empty) as database:
        database.execute("DROP SCHEMA public CASCADE; CREATE SCHEMA public")
    run(old, "manage.py", "migrate", "-v0", **engine)
    with pytest.raises(AssertionError, match="newer than the archive"):
        run(fresh, "manage.py", "take_in", str(made), **engine)


@pytest.mark.unmeasured
@pytest.mark.slow
def test_it_is_of_one_moment_and_names_what_is_lost(shop, tmp_path):
    bare = tmp_path / "bare"
    shutil.copytree(shop, bare, ignore=shutil.ignore_patterns("photographs"))
    made = bare / "lost.zip"
    run(bare, "manage.py", "take_out", str(made))
    said = manifest_of(made)
    assert (len(said.photographs), len(said.lost)) == (0, 1)
    with pytest.raises(AssertionError, match="is there already"):
        run(bare, "manage.py", "take_out", str(made))
    with pytest.raises(AssertionError, match="cannot be written"):
        run(bare, "manage.py", "take_out", str(bare / "no" / "where.zip"))


# The owner's page, and what it hands out.
PAGE = """
import django, sys
django.setup()
from pathlib import Path
from django.test import Client
from django.urls import reverse
from inventory.people.models import User
browser = Client(headers={"host": "localhost"})
User.objects.update(is_superuser=True)
browser.force_login(User.objects.get())
assert reverse("archive").encode() in browser.get(reverse("settings")).content
answer = browser.get(reverse("archive"))
Path(sys.argv[1]).write_bytes(b"".join(answer.streaming_content))
print(answer["Content-Disposition"])
"""


@pytest.mark.slow
def test_the_settings_hand_it_out_and_keep_no_copy(shop, file, tmp_path):
    own, saved = tmp_path / "own", tmp_path / "saved.zip"
    shutil.copytree(shop, own)
    before = sorted(own.iterdir())
    said = run(own, "-c", PAGE, str(saved))
    assert re.search(r'filename="gripcount-archive-\d{8}T\d{6}Z\.zip"', said)
    assert manifest_of(saved).tables.keys() == manifest_of(file).tables.keys()
    assert manifest_of(saved).tables["inventory_movement"].rows == 2
    assert sorted(own.iterdir()) == before


def test_what_ends_halfway_leaves_no_file(tmp_path):
    def halfway():
        with sealing(tmp_path / "a.zip") as box:
            box.writestr("tables/x.jsonl", "{}")
            raise OSError(28, "No space left on device")

    with pytest.raises(OSError, match="No space"):
        halfway()
    assert list(tmp_path.iterdir()) == []
