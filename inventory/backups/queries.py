"""The backups that a folder holds."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from inventory.backups import rules

FOLDER, FAILURE = "backups", "why-not.txt"


@dataclass(frozen=True)
class Backup:
    """A backup's file and when it was made."""

    file: Path
    at: datetime


def backups_in(place: Path) -> list[Backup]:
    """The newest first; none where the folder is not there."""
    found = [
        Backup(file, at)
        for file in place.glob("*.zip")
        if (at := rules.made_at(file.name)) is not None
    ]
    return sorted(found, key=lambda each: each.at, reverse=True)


def last_backup(folder: Path) -> Backup | None:
    """The newest of a shop's own backups."""
    return next(iter(backups_in(folder / FOLDER)), None)


@dataclass(frozen=True)
class Second:
    """A second folder for backups, and the newest backup in it, if it is there."""

    folder: str
    is_there: bool
    last: Backup | None


def second_folder(name: str) -> Second | None:
    """How the second folder stands; None where none is named."""
    if not name:
        return None
    place = Path(name)
    return Second(name, place.is_dir(), next(iter(backups_in(place)), None))


def why_failed(folder: Path) -> str:
    """What was wrong when a backup was last tried; '' where nothing was."""
    try:
        return (folder / FOLDER / FAILURE).read_text(encoding="utf-8")
    except OSError:
        return ""


def is_due(folder: Path, now: datetime) -> bool:
    """Whether a day went by since the last one."""
    last = last_backup(folder)
    return last is None or now - last.at >= rules.EVERY
