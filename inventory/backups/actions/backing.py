"""Making a backup and proving it; putting one back."""

import contextlib
import hashlib
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path

from django.db import connection, transaction

from inventory import children
from inventory.backups import rules
from inventory.backups.copying import (
    SOURCE,
    TARGET,
    applied_migrations,
    begin_still,
    came_out,
    copied,
    copy_file,
    is_newer,
    made_tables,
    second,
)
from inventory.backups.queries import FAILURE, FOLDER, backups_in
from inventory.backups.snapshot import DATABASE, Manifest, opened, seal
from inventory.errors import Refused
from inventory.ledger.actions.evidence import write_whole
from inventory.ledger.queries import flaws
from inventory.ledger.queries.lots import photograph_marks
from inventory.ledger.rules import photograph_name

_KEPT = (*children.KEPT, "HOME", "PYTHONPATH", "LANG", "LC_ALL", "TZ")


def back_up(*, folder: Path, now: datetime, second_folder: str = "") -> Path:
    """Make a backup of the shop, prove it, and drop what need not be kept.

    It is put back into a scratch folder and the whole record recounted there before it
    has its name. Errors: `backup.unproven`; and where a backup stands all the same,
    `backup.flawed` of a shop that does not hold itself, `backup.no_folder` where the
    second folder is not there.
    """
    place = folder / FOLDER
    place.mkdir(mode=0o700, exist_ok=True)
    file = place / rules.name_at(now)
    with tempfile.TemporaryDirectory(dir=place, prefix=".making-") as scratch:
        taken = Path(scratch, DATABASE)
        _take(taken)
        pictures = _pictures(folder, place)
        with taken.open("rb") as read:
            mark = hashlib.file_digest(read, "sha256").hexdigest()
        made = Manifest(now.isoformat(), mark, applied_migrations(), pictures)
        flaw = _prove(taken, place, Path(scratch, "proof"), folder)
        seal(file, taken, made)
    # Where the shop does not hold, an older one may be the better one.
    dropped = [] if flaw else _drop_old(place)
    if second_folder:
        _to_second(place, Path(second_folder), dropped)
    if flaw:
        raise Refused(
            "backup.flawed",
            f"The shop's own record does not hold, and was backed up as it is: {flaw}. "
            "The settings name what is wrong; older backups are kept.",
        )
    return file


def note(*, folder: Path, why: str) -> None:
    """Keep why no backup was made, or that one was."""
    place = folder / FOLDER
    place.mkdir(mode=0o700, exist_ok=True)
    if why:
        write_whole(place / FAILURE, why.encode(), within=place)
    else:
        (place / FAILURE).unlink(missing_ok=True)


def _take(taken: Path) -> None:
    """The database as it stands at one moment, while others write."""
    if connection.vendor == "sqlite":
        copy_file(taken)
        return
    asked = {"ENGINE": "inventory.config.sqlite", "NAME": str(taken)}
    with second(asked):
        made_tables()
        with transaction.atomic(SOURCE), transaction.atomic(TARGET):
            begin_still()
            if copied() != came_out():
                raise Refused("backup.unproven", "The copy came out otherwise.")


def _pictures(folder: Path, place: Path) -> list[str]:
    """The record's photographs, copied beside the backups once; a lost one is none."""
    names = sorted(photograph_name(mark) for mark in photograph_marks())
    for name in names:
        if not (place / name).is_file() and (folder / name).is_file():
            write_whole(place / name, (folder / name).read_bytes(), within=place)
    return [name for name in names if (place / name).is_file()]


def _prove(taken: Path, place: Path, scratch: Path, folder: Path) -> str:
    """Recount the whole record of a copy in a folder of its own, by the same program.

    '' where it holds; else the shop's own first flaw, of which the copy is no worse.
    Errors: `backup.unproven` where the shop holds and its copy does not.
    """
    scratch.mkdir()
    shutil.copyfile(taken, scratch / DATABASE)
    (scratch / "photographs").symlink_to(place / "photographs")
    try:
        _run(scratch, "check_ledger")
    except Refused:
        own = next(iter(flaws(folder)), None)
        if own is None or not _is_sound(taken):
            raise
        return str(own)
    return ""


def _is_sound(database: Path) -> bool:
    """Whether the file itself is whole, whatever its figures say."""
    try:
        with contextlib.closing(sqlite3.connect(database)) as base:
            return base.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    except sqlite3.DatabaseError:
        return False


def _run(folder: Path, *command: str) -> None:
    """A command of this program on another folder. Errors: `backup.unproven`."""
    own = {name: os.environ[name] for name in _KEPT if name in os.environ}
    done = subprocess.run(
        [sys.executable, "-m", "django", *command],
        cwd=children.ROOT,
        env={
            **own,
            "DJANGO_SETTINGS_MODULE": "inventory.config.settings",
            "GRIPCOUNT_DATA": str(folder),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        said = (done.stderr or done.stdout).strip().splitlines()[-1:]
        raise Refused(
            "backup.unproven",
            f"The record in the backup does not hold: {' '.join(said)[:300]}",
        )


def _drop_old(place: Path) -> list[str]:
    """Remove what need not be kept; the names of what is gone."""
    found = {each.at: each.file for each in backups_in(place)}
    gone = [found[at] for at in found.keys() - rules.kept(found)]
    for file in gone:
        file.unlink()
    return [file.name for file in gone]


def _to_second(place: Path, other: Path, dropped: Iterable[str]) -> None:
    """The same backups and pictures in a second folder: a stick, a share.

    What lies there of another shop is left alone: only what went here goes there.
    """
    if not other.is_dir():
        raise Refused(
            "backup.no_folder",
            f"The second folder for backups, {other}, is not there: put the stick in, or "
            "mend its name in the settings. The backup in the shop's own folder stands.",
        )
    try:
        _mirror(place, other, (each.file for each in backups_in(place)))
        _mirror(place, other, (place / "photographs").rglob("*.jpg"))
        for name in dropped:
            (other / name).unlink(missing_ok=True)
    except OSError as error:
        raise Refused(
            "backup.no_folder",
            f"The second folder for backups, {other}, cannot be written: "
            f"{error.strerror}. The backup in the shop's own folder stands.",
        ) from error


def _mirror(place: Path, other: Path, files: Iterable[Path]) -> None:
    for file in files:
        there = other / file.relative_to(place)
        if not there.is_file() or there.stat().st_size != file.stat().st_size:
            write_whole(there, file.read_bytes(), within=other)


def put_back(
    *, file: Path, folder: Path, now: datetime, as_it_is: bool = False
) -> Manifest:
    """Put a backup back into a folder that nobody serves; the old database stands aside.

    Nothing of the folder is touched before the backup is proven; `as_it_is` takes one of
    a shop that did not hold when it was made. Errors: `backup.damaged`, `backup.newer`, `backup.pictures`, `backup.unproven`.
    """
    folder.mkdir(mode=0o700, exist_ok=True, parents=True)
    with tempfile.TemporaryDirectory(dir=folder, prefix=".restoring-") as scratch:
        shop = Path(scratch, "shop")
        shop.mkdir()
        said = opened(file, shop)
        _check_known(file, said)
        for name in said.photographs:
            _take_picture(file.parent / name, shop / name, shop)
        _run(shop, "migrate", "-v0")
        if not as_it_is:
            _run(shop, "check_ledger")
        for name in said.photographs:
            if not (folder / name).is_file():
                data = (shop / name).read_bytes()
                write_whole(folder / name, data, within=folder)
        for old in sorted(folder.glob(f"{DATABASE}*")):
            os.replace(old, folder / f"before-{rules.name_at(now)[:-4]}-{old.name}")
        for fresh in sorted(shop.glob(f"{DATABASE}*")):
            os.replace(fresh, folder / fresh.name)
    return said


def _check_known(file: Path, said: Manifest) -> None:
    if is_newer(said.migrations):
        raise Refused(
            "backup.newer",
            f"{file.name} was made by a newer Gripcount: put it back with that one. "
            "Nothing was changed.",
        )


def _take_picture(found: Path, into: Path, within: Path) -> None:
    try:
        data = found.read_bytes()
    except OSError as error:
        raise Refused(
            "backup.pictures",
            f"{found} is missing: photographs lie beside the backup, in the folder "
            "'photographs'. Copy that along. Nothing was changed.",
        ) from error
    if hashlib.sha256(data).hexdigest() != found.stem:
        raise Refused(
            "backup.damaged", f"The photograph {found} is damaged. Nothing was changed."
        )
    write_whole(into, data, within=within)
