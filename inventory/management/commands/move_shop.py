"""Move the shop from SQLite to PostgreSQL: `move_shop postgres://...`."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandParser

from inventory.management.moving import EXAMPLE, move
from inventory.management.plain import PlainCommand


class Command(PlainCommand):
    """All or nothing; the SQLite file is only read, and stays as it was."""

    help = "Move a shop that nobody serves from SQLite to an empty PostgreSQL database."

    def add_arguments(self, parser: CommandParser) -> None:
        """Where to."""
        parser.add_argument("database", help=EXAMPLE)

    def handle(self, *args: Any, **options: Any) -> None:
        """Move it and say what is to be done next."""
        found = move(url=options["database"], folder=Path(settings.DATA))
        rows = sum(each.rows for each in found.values())
        self.stdout.write(
            f"Moved: {rows:,} rows of {len(found)} tables, each table equal on both "
            "sides, the record whole. Now name the database in GRIPCOUNT_DATABASE, keep "
            "GRIPCOUNT_DATA as it is, and put gripcount.sqlite3 away: it is the old shop."
        )
