"""A shop moves from SQLite to PostgreSQL whole, or not at all."""

import json
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
import uuid

import psycopg
import pytest
from django.conf import settings as shop_settings
from psycopg import sql

from inventory.backups.copying import models
from inventory.config.services import POSTGRES
from tests.processes import unmeasured

pytestmark = pytest.mark.slow
PATIENCE = 240
# What each table holds, but when the record was proven.
CONTENTS = """
import django
django.setup()
from inventory.backups.copying import SOURCE, came_out
found = came_out(SOURCE)
del found["inventory_ledgercheck"]
print(sorted(found.items()))
"""
# Moves the shop to each database named, and says how each time ended.
MOVES = """
import json, sys, django
django.setup()
from django.core.management import CommandError, call_command
for url in sys.argv[1:]:
    try:
        call_command("move_shop", url)
    except CommandError as error:
        print(json.dumps(str(error)))
"""


@pytest.fixture(scope="module")
def shop(tmp_path_factory, ready_tables):
    """The folder of a demo shop on SQLite."""
    folder = new_shop(tmp_path_factory.mktemp("shop"), ready_tables)
    run(folder, "manage.py", "load_demo", "-v0", GRIPCOUNT_DEMO="1")
    return folder


@pytest.fixture
def empty():
    """The address of a database with nothing in it."""
    name = sql.Identifier(fresh := f"gripcount_moved_{uuid.uuid4().hex}")
    with psycopg.connect(POSTGRES, autocommit=True) as server:
        server.execute(sql.SQL("CREATE DATABASE {}").format(name))
        yield POSTGRES.rsplit("/", 1)[0] + f"/{fresh}"
        server.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(name))


def new_shop(folder, ready_tables):
    """A folder with empty tables: those that the suite keeps, where it has any."""
    if ready_tables.exists():
        shutil.copyfile(ready_tables, folder / "gripcount.sqlite3")
    else:
        run(folder, "manage.py", "migrate", "-v0")
    return folder


# What the suite has of these is measured; what sets a shop up or reads it is elsewhere.
MEASURED = ("move_shop", "backup", "restore", "take_in", "take_out")


def surroundings(folder, *words, **more):
    known = {k: v for k, v in os.environ.items() if k != "GRIPCOUNT_DATABASE"}
    if not set(words) & set(MEASURED):
        known = unmeasured(known)
    settings = {"DJANGO_SETTINGS_MODULE": "inventory.config.settings"}
    return {**known, **settings, "GRIPCOUNT_DATA": str(folder), **more}


def run(folder, *words, **more):
    done = subprocess.run(
        [sys.executable, *words],
        cwd=shop_settings.ROOT,
        env=surroundings(folder, *words, **more),
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def refused(folder, *urls):
    """What each move says that is refused; it says so of every one."""
    said = [json.loads(row) for row in run(folder, "-c", MOVES, *urls).splitlines()]
    assert len(said) == len(urls)
    return said


def read(url, query):
    with psycopg.connect(url) as database:
        return database.execute(query).fetchall()


def dumped(folder):
    """All that a SQLite shop holds."""
    with sqlite3.connect(folder / "gripcount.sqlite3") as database:
        return list(database.iterdump())


def tables(url):
    query = "SELECT tablename FROM pg_tables WHERE schemaname = 'public'"
    return {name for (name,) in read(url, query)}


def test_killed_it_leaves_nothing_and_then_it_moves_all_once(shop, empty, tmp_path):
    before = dumped(shop)
    begun = subprocess.Popen(
        [sys.executable, "manage.py", "move_shop", empty],
        cwd=shop_settings.ROOT,
        env=surroundings(shop),
    )
    name = empty.rsplit("/", 1)[1]
    writing = (
        "SELECT 1 FROM pg_stat_activity WHERE "  # noqa: S608 - a name of our own
        f"datname = '{name}' AND query LIKE 'INSERT INTO \"inventory_%'"
    )
    until = time.monotonic() + PATIENCE
    while not read(POSTGRES, writing) and time.monotonic() < until:
        assert begun.poll() is None
    os.kill(begun.pid, signal.SIGKILL)
    begun.wait()
    assert tables(empty) == set()

    assert "the record whole" in run(shop, "manage.py", "move_shop", empty)
    assert dumped(shop) == before
    for model in models():
        key = model._meta.pk
        if key.get_internal_type() == "BigAutoField":
            (next_one,), (last,) = read(
                empty,
                f"SELECT nextval(pg_get_serial_sequence('{model._meta.db_table}', 'id'))"  # noqa: S608
                f" UNION ALL SELECT coalesce(max(id), 0) FROM {model._meta.db_table}",
            )
            assert next_one > last, model
    said = run(shop, "manage.py", "check_ledger", GRIPCOUNT_DATABASE=empty)
    assert "every check holds" in said
    with pytest.raises(psycopg.Error, match="never changed"):
        read(empty, "UPDATE inventory_act SET reason = 'x'")
    (again,) = refused(shop, empty)
    assert "tables already" in again
    words = ("manage.py", "readiness")
    assert run(shop, *words) == run(shop, *words, GRIPCOUNT_DATABASE=empty)
    # A backup of the moved shop is put back on SQLite as what it was before.
    said = run(shop, "manage.py", "backup", GRIPCOUNT_DATABASE=empty)
    file, fresh = said.split(": ")[1].split(".zip")[0] + ".zip", tmp_path / "fresh"
    run(fresh, "manage.py", "restore", file)
    assert run(fresh, "-c", CONTENTS) == run(shop, "-c", CONTENTS)


def test_what_cannot_be_moved_is_said_and_leaves_nothing(shop, empty, tmp_path):
    nowhere = "postgres://nobody@127.0.0.1:1/nothing"
    said = refused(shop, "no address", "sqlite:///other.sqlite3", nowhere)
    assert ["Name a PostgreSQL" in each for each in said] == [True, True, False]
    assert "cannot be reached" in said[2]

    copy = tmp_path / "copy"
    shutil.copytree(shop, copy)
    spoil(copy, "UPDATE inventory_balance SET quantity = quantity + 1")
    assert "does not hold" in refused(copy, empty)[0]
    spoil(copy, "DELETE FROM django_migrations WHERE id > 20")
    assert "manage.py migrate first" in refused(copy, empty)[0]
    served = "import fcntl, sys; lock = open(sys.argv[1], 'w'); "
    served += "fcntl.flock(lock, fcntl.LOCK_EX); print('held', flush=True); input()"
    with subprocess.Popen(
        [sys.executable, "-c", served, str(copy / "lock")],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    ) as server:
        assert server.stdout.readline() == b"held\n"
        assert "already runs" in refused(copy, empty)[0]
        server.communicate(b"\n")
    assert tables(empty) == set()


def spoil(folder, statement):
    code = "import sqlite3, sys; base = sqlite3.connect(sys.argv[1]); "
    code += "base.execute(sys.argv[2]); base.commit()"
    run(folder, "-c", code, str(folder / "gripcount.sqlite3"), statement)


def test_a_shop_on_postgresql_is_not_moved(shop, empty):
    code = (MOVES, empty)
    (said,) = run(shop, "-c", *code, GRIPCOUNT_DATABASE=POSTGRES).splitlines()
    assert "not on SQLite" in json.loads(said)
