"""All rows of a shop from one database to another, table by table, and their hashes."""

import contextlib
import hashlib
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.apps import apps
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, connections
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import Model, QuerySet

from inventory.backups.lines import line

Pages = Mapping[type[Model], Iterable[list[Model]]]
SOURCE, TARGET, PAGE = DEFAULT_DB_ALIAS, "target", 1000


@dataclass(frozen=True)
class Content:
    """How many rows a table holds, and the SHA-256 of all of them."""

    rows: int
    mark: str


@contextmanager
def second(asked: Mapping[str, Any]) -> Iterator[None]:
    """A second connection beside the shop's own, TARGET, while it lasts."""
    every = connections.configure_settings({SOURCE: {}, TARGET: dict(asked)})
    connections.settings[TARGET] = every[TARGET]
    try:
        yield
    finally:
        connections[TARGET].close()
        del connections[TARGET], connections.settings[TARGET]


@contextmanager
def standing_in() -> Iterator[None]:
    """Everything that reads or writes the shop does so in the target, while it lasts."""
    ours, connections[SOURCE] = connections[SOURCE], connections[TARGET]
    try:
        yield
    finally:
        connections[SOURCE] = ours


def copy_file(into: Path) -> None:
    """The SQLite database as it stands at one moment, while others write."""
    connections[SOURCE].ensure_connection()
    # Of a connection that writes it would wait for ever.
    connections[SOURCE].validate_no_atomic_block()
    with contextlib.closing(sqlite3.connect(into)) as target:
        connections[SOURCE].connection.backup(target)
        target.execute("PRAGMA journal_mode=DELETE")


def begin_still() -> None:
    """On PostgreSQL all that this transaction reads is of one moment."""
    with connections[SOURCE].cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")


def applied_migrations() -> list[str]:
    """'inventory.0001_tables' and so on: the state of the shop's tables."""
    applied = MigrationRecorder(connections[SOURCE]).applied_migrations()
    return sorted(f"{app}.{name}" for app, name in applied)


def made_tables() -> None:
    """Make the tables in the target. On SQLite that goes before a transaction only."""
    call_command("migrate", database=TARGET, interactive=False, verbosity=0)


def copied() -> dict[str, Content]:
    """Write every row into the target's tables; what was read, by table.

    Called in a transaction of the target; the source's rows stand still meanwhile.
    """
    return put_in({model: pages(model, SOURCE) for model in models()}, TARGET)


def put_in(rows: Pages, side: str) -> dict[str, Content]:
    """Write these rows, and no others, into a side's tables; what was written, by table.

    Called in a transaction of that side, whose tables hold what making them wrote.
    """
    for model in rows:
        # No trigger minds: into what is never changed making the tables wrote nothing.
        if (written := _rows(model, side)).exists():
            written.delete()
    with connections[side].cursor() as cursor:
        # Rows may name what comes later; making tables ended that for some.
        if connections[side].vendor == "sqlite":
            cursor.execute("PRAGMA defer_foreign_keys=ON")
        else:
            cursor.execute("SET CONSTRAINTS ALL DEFERRED")
        before = {
            model._meta.db_table: _content(_written(model, found, side))
            for model, found in rows.items()
        }
        if connections[side].vendor != "sqlite":
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for sql in connections[side].ops.sequence_reset_sql(no_style(), list(rows)):
            cursor.execute(sql)
    return before


def _written(
    model: type[Model], found: Iterable[list[Model]], side: str
) -> Iterator[Model]:
    for page in found:
        yield from _rows(model, side).bulk_create(page)


def came_out(
    side: str = TARGET, of: Iterable[type[Model]] | None = None
) -> dict[str, Content]:
    """What stands on a side now, by table: of these tables, or of all."""
    every = models() if of is None else of
    return {model._meta.db_table: _content(_read(model, side)) for model in every}


def is_newer(migrations: Iterable[str]) -> bool:
    """Whether tables of this state are of a newer program than this one."""
    known = MigrationLoader(None).disk_migrations
    return not {f"{app}.{name}" for app, name in known}.issuperset(migrations)


def own(every: Iterable[type[Model]]) -> list[type[Model]]:
    """The shop's own tables: without sessions and what Django keeps for itself."""
    return [
        model
        for model in every
        if model._meta.app_label == "inventory" and not model._meta.auto_created
    ]


def models() -> list[type[Model]]:
    """Every table once, those between two tables included."""
    every = apps.get_models(include_auto_created=True)
    return [model for model in every if model._meta.managed and not model._meta.proxy]


def _rows(model: type[Model], side: str) -> QuerySet[Model]:
    return model._base_manager.using(side)


def pages(model: type[Model], side: str) -> Iterator[list[Model]]:
    """All rows by key, a thousand at once."""
    rows = _rows(model, side).order_by("pk")
    page = list(rows[:PAGE])
    while page:
        yield page
        page = list(rows.filter(pk__gt=page[-1].pk)[:PAGE])


def _read(model: type[Model], side: str) -> Iterator[Model]:
    for page in pages(model, side):
        yield from page


def _content(rows: Iterable[Model]) -> Content:
    mark, count = hashlib.sha256(), 0
    for row in rows:
        mark.update(line(row).encode() + b"\n")
        count += 1
    return Content(count, mark.hexdigest())
