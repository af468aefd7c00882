"""When a backup is due, which are kept, and what they are called."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

# How many days, weeks and months back the newest backup of each is kept.
DAYS, WEEKS, MONTHS = 7, 4, 12
# A shop's machine runs on some evenings only: a day after the last one, whenever it runs.
EVERY, OLD = timedelta(days=1), timedelta(days=7)
_NAME, _ARCHIVE = "gripcount-%Y%m%dT%H%M%SZ.zip", "gripcount-archive-%Y%m%dT%H%M%SZ.zip"


def name_at(at: datetime) -> str:
    """'gripcount-20261128T021530Z.zip'."""
    return at.astimezone(UTC).strftime(_NAME)


def archive_at(at: datetime) -> str:
    """'gripcount-archive-20261128T021530Z.zip'."""
    return at.astimezone(UTC).strftime(_ARCHIVE)


def made_at(name: str) -> datetime | None:
    """When a file of this name was made; None where it is no backup's name."""
    try:
        return datetime.strptime(name, _NAME).replace(tzinfo=UTC)
    except ValueError:
        return None


def kept(times: Iterable[datetime]) -> set[datetime]:
    """Of backups made at these times the ones to keep: the newest of each of the last
    DAYS days, WEEKS weeks and MONTHS months that have one."""
    newest = sorted(times, reverse=True)
    found: set[datetime] = set()
    for count, span in (
        (DAYS, lambda at: at.date()),
        (WEEKS, lambda at: at.isocalendar()[:2]),
        (MONTHS, lambda at: (at.year, at.month)),
    ):
        firsts: dict[object, datetime] = {}
        for at in newest:
            firsts.setdefault(span(at), at)
        found |= set(list(firsts.values())[:count])
    return found
