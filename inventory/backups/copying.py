"""All rows of a shop from one database to another, table by table, and their hashes."""

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, connections
from django.db.models import Model, QuerySet

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


def made_tables() -> None:
    """Make the tables in the target. On SQLite that goes before a transaction only."""
    call_command("migrate", database=TARGET, interactive=False, verbosity=0)


def copied() -> dict[str, Content]:
    """Write every row into the target's tables; what was read, by table.

    Called in a transaction of the target; the source's rows stand still meanwhile.
    """
    for model in models():
        # What making the tables wrote; no trigger minds, for there it wrote nothing.
        if (written := _rows(model, TARGET)).exists():
            written.delete()
    with connections[TARGET].cursor() as cursor:
        # Rows may name what comes later; making tables ended that for some.
        if connections[TARGET].vendor == "sqlite":
            cursor.execute("PRAGMA defer_foreign_keys=ON")
        else:
            cursor.execute("SET CONSTRAINTS ALL DEFERRED")
        before = {model._meta.db_table: _copy(model) for model in models()}
        if connections[TARGET].vendor != "sqlite":
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for sql in connections[TARGET].ops.sequence_reset_sql(no_style(), models()):
            cursor.execute(sql)
    return before


def came_out(side: str = TARGET) -> dict[str, Content]:
    """What stands on a side now, by table."""
    return {model._meta.db_table: _content(_read(model, side)) for model in models()}


def models() -> list[type[Model]]:
    """Every table once, those between two tables included."""
    every = apps.get_models(include_auto_created=True)
    return [model for model in every if model._meta.managed and not model._meta.proxy]


def _rows(model: type[Model], side: str) -> QuerySet[Model]:
    return model._base_manager.using(side)


def _pages(model: type[Model], side: str) -> Iterator[list[Model]]:
    """All rows by key, a thousand at once."""
    rows = _rows(model, side).order_by("pk")
    page = list(rows[:PAGE])
    while page:
        yield page
        page = list(rows.filter(pk__gt=page[-1].pk)[:PAGE])


def _copy(model: type[Model]) -> Content:
    """Write every row as it is; what was read of it."""

    def written() -> Iterator[Model]:
        for page in _pages(model, SOURCE):
            yield from _rows(model, TARGET).bulk_create(page)

    return _content(written())


def _read(model: type[Model], side: str) -> Iterator[Model]:
    for page in _pages(model, side):
        yield from page


def _content(rows: Iterable[Model]) -> Content:
    mark, count = hashlib.sha256(), 0
    for row in rows:
        values = [getattr(row, each.attname) for each in row._meta.concrete_fields]
        mark.update(json.dumps(values, sort_keys=True, default=str).encode() + b"\n")
        count += 1
    return Content(count, mark.hexdigest())
