"""How the shop itself runs, so that nobody trusts a silence: what works, what does not,
and what to do about it."""

import shutil
import sqlite3
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.loader import MigrationLoader
from django.utils.timezone import localtime

from inventory import days
from inventory.alerts.models import Heartbeat
from inventory.alerts.queries import why_unheard
from inventory.backups.queries import last_backup, second_folder, why_failed
from inventory.backups.rules import OLD
from inventory.ledger.queries import last_check
from inventory.ledger.queries.acts import last_act
from inventory.ledger.queries.checking import guards_gone
from inventory.people.queries import shop

# The clock asks once a minute; a worker that proves a long record may be late for some.
SILENT = timedelta(minutes=5)
# The record is proven every day that the shop runs.
PROVEN_WITHIN = timedelta(days=7)
# So far may an entry's time lie ahead: two machines' clocks differ by seconds.
AHEAD = timedelta(minutes=2)
# Megabytes: room for a shop of some years, and for one more backup of it.
LITTLE, LEAST = 1_000, 200


class RunningState(StrEnum):
    """How one part of the shop runs; the words are shown."""

    GOOD = "good"
    LOOK = "look"
    STOP = "stop"


@dataclass(frozen=True)
class RunningPart:
    """One part of what the shop runs on: how it stands, and what to do."""

    name: str
    state: RunningState
    words: str


class Served:
    """Since when this process serves pages; None in a command or a test."""

    since: datetime | None = None


def silent_since(now: datetime) -> datetime | None:
    """When the worker was last heard, where that is too long ago; else None.

    A machine that slept has a worker that was silent: it gets its time anew.
    """
    row = Heartbeat.objects.first()
    heard = [at for at in (row.at if row else None, Served.since) if at]
    last = max(heard, default=None)
    return last if last and now - last > SILENT else None


def why_unwatched(now: datetime) -> str:
    """That nobody watches the stock, with what to do; '' where the worker works."""
    since = silent_since(now)
    if since is None:
        return ""
    return (
        f"The background worker has been silent since {_said(since)}: nothing warns of "
        "what runs short, no letter goes out, no backup is made. Stop the shop and "
        "start it again."
    )


def why_other_tables() -> str:
    """That the tables are of another version, with what to do; '' where they are ours."""
    loader = MigrationLoader(connection)
    ours, made = set(loader.disk_migrations), set(loader.applied_migrations)
    if behind := len(ours - made):
        return (
            f"They are {behind} change{'' if behind == 1 else 's'} behind this version: "
            "stop the shop and start it again, which brings them up to date."
        )
    if made - ours:
        return "They are of a newer version: serve the shop with that one."
    return ""


def running_parts(now: datetime, broker: str) -> list[RunningPart]:
    """Every part; `broker` says why none answers, '' where one does.

    Of a database that does not answer, or tables of another version, no more is read.
    """
    try:
        database, other = _database(), why_other_tables()
    except DatabaseError as error:
        return [_part("Database", stop=f"It does not answer: {str(error).strip()}")]
    tables = _part("Tables", "They are this version's.", stop=other)
    messages = _part("Messages to the worker", "The broker answers.", stop=broker)
    if other:
        return [database, tables, messages, _disk()]
    return [
        database,
        tables,
        _guards(),
        _record(now),
        _worker(now),
        messages,
        _part("Mail", "Letters go out.", look=why_unheard()),
        _backups(now),
        _second(now),
        _disk(),
        _clock(now),
    ]


def _part(name: str, good: str = "", *, stop: str = "", look: str = "") -> RunningPart:
    """The first of what must be mended, what is to be looked at, and that all is well."""
    if stop:
        return RunningPart(name, RunningState.STOP, stop)
    if look:
        return RunningPart(name, RunningState.LOOK, look)
    return RunningPart(name, RunningState.GOOD, good)


def _said(at: datetime) -> str:
    here = localtime(at)
    return f"{days.said(here)} {here:%H:%M}"


def _shown(setting: str) -> str:
    with connection.cursor() as cursor:
        word = "SHOW" if connection.vendor == "postgresql" else "PRAGMA"
        cursor.execute(f"{word} {setting}")
        return str(cursor.fetchone()[0])


def _database() -> RunningPart:
    """Whether what is acknowledged is on the disk.

    Source: PostgreSQL's manual, 'Write Ahead Log'; SQLite's, PRAGMA synchronous (2 is
    FULL, 3 is EXTRA).
    """
    if connection.vendor == "postgresql":
        name = f"PostgreSQL {_shown('server_version')}"
        durable = ("fsync", "full_page_writes", "synchronous_commit")
        off = [f"'{each}'" for each in durable if _shown(each) == "off"]
    else:
        name = f"SQLite {sqlite3.sqlite_version}"
        off = [] if _shown("synchronous") in ("2", "3") else ["'synchronous'"]
    lost = f"{name} runs with {' and '.join(off)} off: a power cut loses entries."
    kept = f"{name}: every entry is on the disk before it is acknowledged."
    return _part("Database", kept, stop=lost if off else "")


def _guards() -> RunningPart:
    gone = "; ".join(str(flaw) for flaw in guards_gone())
    return _part(
        "Guards of the record",
        "What was entered cannot be changed afterwards.",
        stop=gone and f"{gone}. Restore a backup, or ask who keeps the database.",
    )


def _record(now: datetime) -> RunningPart:
    check = last_check()
    if check is None:
        never = "Not proven yet: the worker does it every night that the shop runs."
        return _part("Record", look=never)
    at, failed, old = _said(check.at), len(check.found), now - check.at > PROVEN_WITHIN
    return _part(
        "Record",
        f"Proven whole on {at}.",
        stop=f"{failed} of its checks failed on {at}: see Settings." if failed else "",
        look=f"Last proven on {at}: let the shop run for a night." if old else "",
    )


def _worker(now: datetime) -> RunningPart:
    row = Heartbeat.objects.first()
    return _part(
        "Background worker",
        f"It answered its clock on {_said(row.at)}." if row else "",
        stop=why_unwatched(now),
        look="" if row else "Not heard yet: it answers within a minute of its start.",
    )


def _backups(now: datetime) -> RunningPart:
    folder = Path(settings.DATA)
    last, failed = last_backup(folder), why_failed(folder)
    if failed:
        return _part("Backups", stop=f"The last one did not hold: {failed}")
    if last is None:
        return _part("Backups", look="None yet: press 'Back up now' under Settings.")
    said = f"The last is of {_said(last.at)}"
    old = now - last.at > OLD
    return _part("Backups", f"{said}.", stop=f"{said}: make one now." if old else "")


def _second(now: datetime) -> RunningPart:
    name, second = "Backups elsewhere", second_folder(shop().backup_folder)
    if second is None:
        none = "A disk that dies takes the backups along: name a second folder, on a stick or a share."
        return _part(name, look=none)
    folder, last = second.folder, second.last
    if not second.is_there:
        gone = f"{folder} is not there: put the stick in, or mend its name."
        return _part(name, look=gone)
    if last is None or now - last.at > OLD:
        old = f"{folder} has no fresh one: put the stick in, then 'Back up now'."
        return _part(name, look=old)
    return _part(name, f"{folder} has that of {_said(last.at)}.")


def _disk() -> RunningPart:
    try:
        free = shutil.disk_usage(settings.DATA).free // 10**6
    except OSError as error:
        gone = f"The shop's folder, {settings.DATA}, cannot be read: {error.strerror}."
        return _part("Disk", stop=gone)
    said = f"{free:,} MB are free in the shop's folder"
    full = f"{said}: soon nothing can be entered. Free some space now."
    return _part(
        "Disk",
        f"{said}.",
        stop=full if free < LEAST else "",
        look=f"{said}: free some space." if free < LITTLE else "",
    )


def _clock(now: datetime) -> RunningPart:
    last, here = last_act(), _said(now)
    if last is not None and last.at > now + AHEAD:
        made = f"but an entry was made on {_said(last.at)}: set the clock."
        return _part("Clock", stop=f"This machine's clock says {here}, {made}")
    return _part("Clock", f"It is {here}.")
