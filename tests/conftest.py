"""What every test stands on: people of our own, an empty shop, triggers that stay."""

import gc
import hashlib
import os
import re
import shutil
import sqlite3
import tempfile
import uuid
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from functools import cache
from importlib import import_module
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pytest
from coverage import Coverage
from django.db import connection
from django.test import override_settings
from hypothesis import settings as hypothesis_settings
from pytest_django import DjangoDbBlocker

from inventory import children, errands, migrations
from inventory.catalog.actions import item_for_callout
from inventory.config.celery import app
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.actions.posting import Ask
from inventory.ledger.actions.verbs import count
from inventory.ledger.queries import Bin, bin_numbered
from inventory.ledger.queries.checking import GUARDS
from inventory.people.models import User
from inventory.photos import opening
from tests.again import made_once

GUARDED = [import_module(f"inventory.migrations.{name}") for name in GUARDS]
SQLITE = {name: sql for each in GUARDED for name, sql in each.SQLITE.items()}

# Playwright's loop runs in the test's thread, where Django would refuse to read.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

# Where the suite is measured, so are our own children, which else get to know nothing.
children.KEPT = (*children.KEPT, "COVERAGE_PROCESS_START", "COVERAGE_FILE")

# What a test writes outlives no run: in memory, where there is room, no disk is waited
# for. How a commit is asked for stays as it is (`config/engines`).
MEMORY, ROOM = Path("/dev/shm"), 4 << 30
if (
    "TMPDIR" not in os.environ
    and os.access(MEMORY, os.W_OK)
    and shutil.disk_usage(MEMORY).free > ROOM
):
    os.environ["TMPDIR"] = tempfile.tempdir = str(MEMORY)

# Nobody waits here for a picture, and another check may have the processor.
opening.WALL_SECONDS = 240.0

DATABASE_FIXTURES = {"db", "transactional_db", "live_server"}


def pytest_addoption(parser: pytest.Parser) -> None:
    """Tests that know no database need no second engine; two processes share a suite."""
    parser.addoption(
        "--only-database", action="store_true", help="only tests that use a database"
    )
    parser.addoption("--part", default="1/1", help="a part of the modules, as 1/3")


def pytest_configure(config: pytest.Config) -> None:
    """No example fails for being slow: how fast a machine is proves nothing of the code.

    Where the slow tests are left out, and on the second engine, properties are tried on
    fewer examples: the code is the same.
    """
    quick = "not slow" in config.getoption("markexpr")
    examples = 20 if quick or config.getoption("--only-database") else 100
    hypothesis_settings.register_profile(
        "gripcount", deadline=None, max_examples=examples
    )
    hypothesis_settings.load_profile("gripcount")


TESTS = Path(__file__).parent
# What nothing here needs a database for; a test of `manage.py test` holds it to that.
PURE = ("trade/test_*.py", "sheets/test_*.py", "*/test_rules*.py")


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Read no module of which nothing would be run: to read all takes long."""
    if not re.fullmatch(r"test_\w+\.py", collection_path.name):
        return None
    return left_out(collection_path, config.getoption) or None


def pytest_collection_finish() -> None:
    """Search for garbage seldom, and not among the tests: it took a seventh of the time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)


@cache
def every_module() -> list[Path]:
    """The modules with tests, in one order."""
    return sorted(TESTS.rglob("test_*.py"))


def left_out(module: Path, option: Callable[[str], Any]) -> bool:
    """Whether a module is another part's, or holds nothing of what is asked for."""
    if module not in part_of(every_module(), option("--part")):
        return True
    if option("markexpr") == "browser":
        return "mark.browser" not in module.read_text()
    if option("--only-database"):
        return any(map(module.match, PURE))
    return False


def pytest_collection_modifyitems(
    config: pytest.Config, items: list[pytest.Item]
) -> None:
    """Leave out, and count as left out, what uses no database."""
    if config.getoption("--only-database"):
        config.hook.pytest_deselected(items=[x for x in items if not uses_database(x)])
        items[:] = filter(uses_database, items)


def part_of(modules: Sequence[Path], part: str) -> Sequence[Path]:
    """The modules of part 1/3, 2/3 or 3/3, dealt out by turns: a new one is in one of them."""
    number, parts = map(int, part.split("/"))
    return modules[number - 1 :: parts]


def uses_database(item: pytest.Item) -> bool:
    """Whether a test asks for a database, by a fixture or by a mark."""
    fixtures = DATABASE_FIXTURES & set(getattr(item, "fixturenames", ()))
    marks = ("django_db", "postgres")
    return bool(fixtures) or any(map(item.get_closest_marker, marks))


NOW = datetime(2027, 3, 1, 18, 30, tzinfo=UTC)


@pytest.fixture(scope="session")
def ready_tables(pytestconfig: pytest.Config) -> Path:
    """Where SQLite's tables are kept, as these very migrations make them."""
    made_of = hashlib.sha256(f"{version('django')} {sqlite3.sqlite_version}".encode())
    for each in sorted(Path(migrations.__file__).parent.glob("*.py")):
        made_of.update(each.read_bytes())
    folder = pytestconfig.cache.mkdir("tables")
    return folder / f"{made_of.hexdigest()[:16]}.sqlite3"


@pytest.fixture(scope="session")
def django_db_keepdb(ready_tables: Path) -> bool:
    """Whether there are tables to begin with; what they lack is migrated all the same."""
    return connection.vendor == "sqlite" and ready_tables.exists()


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    pytestconfig: pytest.Config,
    tmp_path_factory: pytest.TempPathFactory,
    ready_tables: Path,
    django_db_keepdb: bool,
) -> None:
    """A SQLite test database in a file, which threads and other processes share.

    PostgreSQL's test database is to outlive no power cut: no commit waits for the disk.
    Each part of a suite has its own.
    """
    if connection.vendor == "postgresql":
        part = pytestconfig.getoption("--part").replace("/", "_of_")
        connection.settings_dict["TEST"]["NAME"] = f"test_gripcount_{part}"
        options = connection.settings_dict["OPTIONS"]
        options["options"] = "-c synchronous_commit=off"
    else:
        file = tmp_path_factory.mktemp("database") / "test.sqlite3"
        connection.settings_dict["TEST"]["NAME"] = str(file)
        if django_db_keepdb:
            shutil.copyfile(ready_tables, file)


@pytest.fixture(scope="session")
def django_db_setup(
    django_db_setup: None,
    django_db_blocker: DjangoDbBlocker,
    ready_tables: Path,
    django_db_keepdb: bool,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """Keep the tables that were just made, whole or not at all, for the next suite."""
    if connection.vendor != "sqlite" or django_db_keepdb:
        return
    copy = tmp_path_factory.mktemp("tables") / "made.sqlite3"
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(copy)])
    for older in ready_tables.parent.glob("*.sqlite3"):
        older.unlink(missing_ok=True)
    part = ready_tables.with_name(f"{os.getpid()}.part")
    shutil.copyfile(copy, part)
    part.replace(ready_tables)


@pytest.fixture(autouse=True)
def _measuring(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> Iterator[None]:
    """To measure doubles a test's time: what is marked is not, nor are its children."""
    measured = Coverage.current()
    if measured is None or not request.node.get_closest_marker("unmeasured"):
        yield
        return
    monkeypatch.delenv("COVERAGE_PROCESS_START", raising=False)
    measured.stop()
    yield
    measured.start()


@pytest.fixture(scope="session", autouse=True)
def _emptying_a_test_database() -> Iterator[None]:
    """Let the emptying between tests, and nothing else, past the triggers.

    A transactional test ends with every table emptied; the ledger's triggers would
    rightly refuse that, so they are off meanwhile.
    """
    kind = type(connection.ops)
    plain_flush = kind.sql_flush

    def sql_flush(
        self: Any, style: Any, tables: list[str], **options: Any
    ) -> list[str]:
        plain = plain_flush(self, style, tables, **options)
        if not plain:
            return plain
        if connection.vendor == "postgresql":
            # Row by row: to truncate, every table's file is made anew and forced to disk.
            return [
                "SET LOCAL session_replication_role = replica",
                *(f"DELETE FROM {self.quote_name(table)}" for table in tables),  # noqa: S608
            ]
        drop = [f"DROP TRIGGER {name}" for name in SQLITE]
        return [*drop, *plain, *SQLITE.values()]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(kind, "sql_flush", sql_flush)
        yield


def let_children_end() -> None:
    """By themselves: killed, as the shop does it, they could not write what they ran."""
    for child in opening._idle:
        child.process.communicate()
    opening.end_children()


@pytest.fixture(scope="session", autouse=True)
def _last_children_end_by_themselves() -> Iterator[None]:
    """What the suite ran in its last children is measured too."""
    yield
    let_children_end()


@pytest.fixture(autouse=True)
def _no_message_leaves() -> Iterator[None]:
    """Messages go to memory unless a test brings its own broker; none outlives a test."""
    app.conf.broker_url = "memory://"
    app.conf.broker_transport = "memory"
    yield
    errands.wait()


@pytest.fixture(scope="session", autouse=True)
def _letters_at_once() -> Iterator[None]:
    """A letter waits ten minutes; tests but those of that do not."""
    with override_settings(LETTER_WAIT=timedelta(0)):
        yield


@pytest.fixture(scope="session", autouse=True)
def _cheap_passwords() -> Iterator[None]:
    """A password's slow hash is the framework's business, not these tests'."""
    cheap = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    with override_settings(PASSWORD_HASHERS=cheap):
        yield


@pytest.fixture(scope="session", autouse=True)
def _static_files_when_asked_for() -> Iterator[None]:
    """Else each test's client looks through the whole folder before its first page."""
    with override_settings(WHITENOISE_AUTOREFRESH=True):
        yield


@pytest.fixture
def owner(db: None) -> User:
    """Marlow, who owns the shop."""
    return User.objects.create_user(
        "marlow", "marlow@example.org", "a phrase long enough", is_superuser=True
    )


@pytest.fixture
def ask(owner: User) -> Callable[..., Ask]:
    """Asks of the owner's, each with an id of its own."""

    def make(scan_id: str | None = "new", reason: str = "") -> Ask:
        fresh = str(uuid.uuid4()) if scan_id == "new" else scan_id
        return Ask(by=owner, now=NOW, scan_id=fresh, reason=reason)

    return make


@pytest.fixture
def rivets(owner: User, ask: Callable[..., Ask]) -> Bin:
    """Bin 12 with 40 of the most used rivet, counted."""
    counted_rivets(owner, ask)
    return bin_numbered(12)


@made_once
def counted_rivets(owner: User, ask: Callable[..., Ask]) -> None:
    """Forty pieces in bin 12."""
    item = item_for_callout(text="MS20426AD3-3.5")
    bin = open_bin(item=item, by=owner, number=12, spot="rack A")
    count(bin=bin, counted=40, ask=ask())


@pytest.fixture
def now() -> datetime:
    """The evening every test happens on."""
    return NOW
