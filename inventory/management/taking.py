"""An archive into an empty shop, on either engine: all of it, proven, or nothing.

The tables are made as they were when the archive was, filled, compared with what the
archive says of itself, and brought forward to what this program has.
"""

import hashlib
import os
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.core.management import CommandError, call_command
from django.db import Error, connection, connections, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.models import Model

from inventory.backups.archive import ArchiveManifest, manifest_of, read_tables
from inventory.backups.copying import (
    SOURCE,
    applied_migrations,
    came_out,
    is_newer,
    own,
    put_in,
    second,
    standing_in,
)
from inventory.backups.snapshot import DATABASE
from inventory.config import paths
from inventory.config.bootstrap import CannotStart
from inventory.config.supervisor import held
from inventory.errors import Refused
from inventory.ledger.actions.evidence import write_whole
from inventory.ledger.rules import photograph_name
from inventory.management.moving import check_proof
from inventory.people.models import User


def take_in(*, file: Path, folder: Path) -> ArchiveManifest:
    """Take an archive into the shop of this folder and of GRIPCOUNT_DATABASE.

    Errors: CommandError, in words; the shop is as empty as before then.
    """
    try:
        said = manifest_of(file)
        paths.prepare(folder)
        with held(folder), zipfile.ZipFile(file) as box:
            _check_empty(file, said, folder)
            with _pictures(box, said, folder), _all_or_nothing(folder):
                _fill(box, said)
                call_command("migrate", interactive=False, verbosity=0)
                check_proof("What the archive holds", folder, done="taken in")
    except (Refused, CannotStart) as error:
        raise CommandError(f"{error} Nothing was taken in.") from error
    except (Error, OSError) as error:
        first = str(error).splitlines()[0]
        raise CommandError(f"Nothing was taken in: {first}") from error
    return said


def _check_empty(file: Path, said: ArchiveManifest, folder: Path) -> None:
    """Nobody is known to the shop yet, and its tables are none that the archive lacks."""
    if is_newer(said.migrations):
        raise CommandError(
            f"{file.name} was made by a newer Gripcount: take it in with that one. "
            "Nothing was taken in."
        )
    if _is_used(folder):
        raise CommandError(
            "This shop is in use, and an archive goes into an empty one only, so nothing "
            "was taken in: name an empty folder in GRIPCOUNT_DATA, or an empty database "
            "in GRIPCOUNT_DATABASE."
        )
    if connection.vendor != "sqlite" and not set(said.migrations).issuperset(
        applied_migrations()
    ):
        raise CommandError(
            "The tables of this database are newer than the archive, so nothing was taken "
            "in: name a database without tables in GRIPCOUNT_DATABASE."
        )


def _is_used(folder: Path) -> bool:
    """Whether anybody is known to the shop: whatever was done has its person."""
    if connection.vendor == "sqlite" and not (folder / DATABASE).exists():
        return False
    there = connection.introspection.table_names()
    return "inventory_user" in there and User.objects.exists()


@contextmanager
def _pictures(
    box: zipfile.ZipFile, said: ArchiveManifest, folder: Path
) -> Iterator[None]:
    """The photographs lie in the folder; gone again where something goes wrong."""
    fresh: list[Path] = []
    try:
        for name in said.photographs:
            data = box.read(name) if name in box.namelist() else b""
            # By its own hash it goes to its own place, whatever the name would lead to.
            if name != photograph_name(hashlib.sha256(data).hexdigest()):
                raise Refused("backup.damaged", f"The photograph {name} is damaged.")
            if not (folder / name).is_file():
                write_whole(folder / name, data, within=folder)
                fresh.append(folder / name)
        yield
    except BaseException:
        for picture in fresh:
            picture.unlink()
        raise


@contextmanager
def _all_or_nothing(folder: Path) -> Iterator[None]:
    """What is written meanwhile stands when all went well, and never in part.

    PostgreSQL makes tables in a transaction; on SQLite the database is made aside.
    """
    if connection.vendor != "sqlite":
        with transaction.atomic(SOURCE):
            yield
        return
    with tempfile.TemporaryDirectory(dir=folder, prefix=".taking-") as scratch:
        aside = Path(scratch, DATABASE)
        own = connections.settings[SOURCE]
        with second({**own, "NAME": str(aside)}), standing_in():
            yield
        connections[SOURCE].close()
        for empty in folder.glob(f"{DATABASE}*"):
            empty.unlink()
        for fresh in sorted(Path(scratch).glob(f"{DATABASE}*")):
            os.replace(fresh, folder / fresh.name)


def _fill(box: zipfile.ZipFile, said: ArchiveManifest) -> None:
    """Tables as the archive's were, its rows, and the proof that they came out equal."""
    tables = _tables_of(said)
    if set(said.tables) != {each._meta.db_table for each in tables}:
        raise Refused("backup.damaged", "The archive's tables are not its migrations'.")
    with transaction.atomic(SOURCE):
        put_in(read_tables(box, tables), SOURCE)
        after = came_out(SOURCE, of=tables)
    for table, content in said.tables.items():
        if after[table] != content:
            raise Refused("backup.unproven", f"{table} came out otherwise.")


def _tables_of(said: ArchiveManifest) -> list[type[Model]]:
    """Make the tables as those of the archive were; they, as they were then."""
    executor = MigrationExecutor(connection)
    graph, then = executor.loader.graph, set(said.migrations)
    nodes = [node for node in graph.nodes if f"{node[0]}.{node[1]}" in then]
    after = {parent.key for node in nodes for parent in graph.node_map[node].parents}
    last = [node for node in nodes if node not in after]
    executor.migrate(last)
    state = MigrationExecutor(connection).loader.project_state(last)
    return own(state.apps.get_models())
