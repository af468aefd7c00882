"""Taking everything out: the archive of a shop."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import IO

from django.db import connection, transaction

from inventory.backups import rules
from inventory.backups.archive import (
    FORM,
    ArchiveManifest,
    write_manifest,
    write_pictures,
    write_tables,
)
from inventory.backups.copying import (
    SOURCE,
    applied_migrations,
    begin_still,
    copy_file,
    models,
    own,
    pages,
    second,
    standing_in,
)
from inventory.backups.sealed import sealing
from inventory.backups.snapshot import DATABASE
from inventory.ledger.queries.lots import photograph_marks
from inventory.ledger.rules import photograph_name


def take_out(*, file: Path, folder: Path, now: datetime) -> ArchiveManifest:
    """Write all that a shop holds into one file, as it stands at one moment.

    Others go on writing meanwhile. A photograph whose file is gone is named as lost.
    """
    with sealing(file) as box, _standing_still(folder):
        names = sorted(map(photograph_name, photograph_marks()))
        there = [name for name in names if (folder / name).is_file()]
        made = ArchiveManifest(
            form=FORM,
            made_at=now.isoformat(),
            migrations=applied_migrations(),
            tables=write_tables(
                box, {each: pages(each, SOURCE) for each in own(models())}
            ),
            photographs=there,
            lost=sorted(set(names) - set(there)),
        )
        write_pictures(box, there, folder)
        write_manifest(box, made)
    return made


def archive_to_send(*, folder: Path, now: datetime) -> IO[bytes]:
    """The archive as an open file that is gone with its closing; its name is `.name`."""
    with tempfile.TemporaryDirectory(dir=folder, prefix=".making-") as scratch:
        file = Path(scratch, rules.archive_at(now))
        take_out(file=file, folder=folder, now=now)
        return file.open("rb")


@contextmanager
def _standing_still(folder: Path) -> Iterator[None]:
    """What is read of the shop is of one moment: PostgreSQL's own, or a copy's."""
    if connection.vendor != "sqlite":
        with transaction.atomic(SOURCE):
            begin_still()
            yield
        return
    with tempfile.TemporaryDirectory(dir=folder, prefix=".making-") as scratch:
        copy_file(copy := Path(scratch, DATABASE))
        asked = {"ENGINE": "inventory.config.sqlite", "NAME": str(copy)}
        with second(asked), standing_in():
            yield
