"""An archive into an empty shop: `take_in FILE`."""

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from inventory.config import paths
from inventory.management.plain import PlainCommand
from inventory.management.taking import take_in


class Command(PlainCommand):
    """All or nothing; only where nobody serves the shop and nothing is in it yet."""

    help = "Take an archive into an empty shop: all of it, proven, or nothing."

    def add_arguments(self, parser: CommandParser) -> None:
        """Which."""
        parser.add_argument("file", type=Path, help="what take_out wrote")

    def handle(self, *args: Any, **options: Any) -> None:
        """Take it in and say what stands now."""
        folder = paths.data_folder()
        said = take_in(file=options["file"].resolve(), folder=folder)
        rows = sum(each.rows for each in said.tables.values())
        self.stdout.write(
            f"Taken in: {rows:,} rows of {len(said.tables)} tables, each as the archive "
            f"has it, and {len(said.photographs)} photographs; the record is proven whole "
            f"as of {said.made_at[:16]}. Serve it as before; everybody signs in as before."
        )
