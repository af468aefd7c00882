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
from django.db.migrations.executor import MigrationExecutor
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
    executor = MigrationExecutor(connection)
    wanted = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if wanted:
        changes = f"{len(wanted)} change{'' if len(wanted) == 1 else 's'}"
        return (
            f"They are {changes} behind this version: stop the shop and start it again, "
            "which brings them up to date."
        )
    ours = executor.loader.disk_migrations
    if any(key not in ours for key in executor.loader.applied_migrations):
        return "They are of a newer version: serve the shop with that one."
    return ""


def running_parts(now: datetime, broker: str) -> list[RunningPart]:
    """Every part; `broker` says why none answers, '' where one does.

    Of a database that does not answer, or tables of another version, no more is read.
    """
    try:
        database, other = _database(), why_other_tables()
    except DatabaseError as error:
        said = f"It does not answer: {str(error).strip()}"
        return [RunningPart("Database", RunningState.STOP, said)]
    tables = _part("Tables", other, "They are this version's.")
    messages = _part("Messages to the worker", broker, "The broker answers.")
    if other:
        return [database, tables, messages, _disk()]
    return [
        database,
        tables,
        _guards(),
        _record(now),
        _worker(now),
        messages,
        _part("Mail", why_unheard(), "Letters go out.", worst=RunningState.LOOK),
        _backups(now),
        _second(now),
        _disk(),
        _clock(now),
    ]


def _said(at: datetime) -> str:
    here = localtime(at)
    return f"{days.said(here)} {here:%H:%M}"


def _part(
    name: str, wrong: str, right: str, worst: RunningState = RunningState.STOP
) -> RunningPart:
    return RunningPart(name, worst if wrong else RunningState.GOOD, wrong or right)


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
        off = [
            each
            for each in ("fsync", "full_page_writes", "synchronous_commit")
            if _shown(each) == "off"
        ]
        said = f"PostgreSQL {_shown('server_version')}"
        wrong = " and ".join(f"'{each}'" for each in off)
        how = f"{said} runs with {wrong} off: a power cut loses entries. Turn it on."
    else:
        said = f"SQLite {sqlite3.sqlite_version}"
        wrong = "" if _shown("synchronous") in ("2", "3") else "synchronous"
        how = f"{said} does not wait for the disk: a power cut loses entries."
    right = f"{said}: every entry is on the disk before it is acknowledged."
    return _part("Database", wrong and how, right)


def _guards() -> RunningPart:
    gone = [str(flaw) for flaw in guards_gone()]
    wrong = f"{'; '.join(gone)}. Restore a backup, or ask who keeps the database."
    right = "What was entered cannot be changed afterwards."
    return _part("Guards of the record", wrong if gone else "", right)


def _record(now: datetime) -> RunningPart:
    check = last_check()
    if check is None:
        words = "Not proven yet: the worker does it every night that the shop runs."
        return RunningPart("Record", RunningState.LOOK, words)
    if check.found:
        words = f"{len(check.found)} of its checks failed on {_said(check.at)}: see Settings."
        return RunningPart("Record", RunningState.STOP, words)
    if now - check.at > PROVEN_WITHIN:
        words = f"Last proven on {_said(check.at)}: let the shop run for a night."
        return RunningPart("Record", RunningState.LOOK, words)
    words = f"Proven whole on {_said(check.at)}."
    return RunningPart("Record", RunningState.GOOD, words)


def _worker(now: datetime) -> RunningPart:
    row = Heartbeat.objects.first()
    if wrong := why_unwatched(now):
        return RunningPart("Background worker", RunningState.STOP, wrong)
    if row is None:
        words = "Not heard yet: it answers within a minute of its start."
        return RunningPart("Background worker", RunningState.LOOK, words)
    words = f"It answered its clock on {_said(row.at)}."
    return RunningPart("Background worker", RunningState.GOOD, words)


def _backups(now: datetime) -> RunningPart:
    folder = Path(settings.DATA)
    last, failed = last_backup(folder), why_failed(folder)
    if failed:
        words = f"The last one did not hold: {failed}"
        return RunningPart("Backups", RunningState.STOP, words)
    if last is None:
        words = "None yet: press 'Back up now' under Settings."
        return RunningPart("Backups", RunningState.LOOK, words)
    old = now - last.at > OLD
    words = f"The last is of {_said(last.at)}{': make one now' if old else ''}."
    state = RunningState.STOP if old else RunningState.GOOD
    return RunningPart("Backups", state, words)


def _second(now: datetime) -> RunningPart:
    second = second_folder(shop().backup_folder)
    right = ""
    if second is None:
        wrong = "A disk that dies takes the backups along: name a second folder, on a stick or a share."
    elif not second.is_there:
        wrong = f"{second.folder} is not there: put the stick in, or mend its name."
    elif second.last is None or now - second.last.at > OLD:
        wrong = (
            f"{second.folder} has no fresh one: put the stick in, then 'Back up now'."
        )
    else:
        wrong, right = "", f"{second.folder} has that of {_said(second.last.at)}."
    return _part("Backups elsewhere", wrong, right, worst=RunningState.LOOK)


def _disk() -> RunningPart:
    try:
        free = shutil.disk_usage(settings.DATA).free // 10**6
    except OSError as error:
        words = f"The shop's folder, {settings.DATA}, cannot be read: {error.strerror}."
        return RunningPart("Disk", RunningState.STOP, words)
    said = f"{free:,} MB are free in the shop's folder"
    if free < LEAST:
        words = f"{said}: soon nothing can be entered. Free some space now."
        return RunningPart("Disk", RunningState.STOP, words)
    wrong = f"{said}: free some space." if free < LITTLE else ""
    return _part("Disk", wrong, f"{said}.", worst=RunningState.LOOK)


def _clock(now: datetime) -> RunningPart:
    last = last_act()
    ahead = last is not None and last.at > now + AHEAD
    wrong = (
        f"This machine's clock says {_said(now)}, but an entry was made on "
        f"{_said(last.at)}: set the clock."
        if last and ahead
        else ""
    )
    return _part("Clock", wrong, f"It is {_said(now)}.")
