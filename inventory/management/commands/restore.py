"""Put a backup back: `restore FILE`, into the folder of GRIPCOUNT_DATA."""

from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.db import connection, connections
from django.utils import timezone

from inventory.backups.actions.backing import put_back
from inventory.backups.snapshot import DATABASE
from inventory.config import paths
from inventory.config.bootstrap import CannotStart
from inventory.config.supervisor import held
from inventory.errors import Refused
from inventory.management.plain import PlainCommand


class Command(PlainCommand):
    """Only where nobody serves the folder; what is there stands aside, never gone."""

    help = "Put a backup back into the data folder: all of it, proven, or nothing."

    def add_arguments(self, parser: CommandParser) -> None:
        """Which, and whether a shop that is there gives way."""
        parser.add_argument("file", type=Path, help="gripcount-....zip")
        parser.add_argument(
            "--replace", action="store_true", help="the shop that is there stands aside"
        )
        parser.add_argument(
            "--as-it-is", action="store_true", help="also one that did not hold itself"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Put it back and say what stands now."""
        folder = paths.data_folder()
        if connection.vendor != "sqlite":
            raise CommandError(
                "A backup is put back on SQLite: leave GRIPCOUNT_DATABASE out and name a "
                "fresh GRIPCOUNT_DATA; then move_shop takes it to PostgreSQL."
            )
        if (folder / DATABASE).exists() and not options["replace"]:
            raise CommandError(
                f"{folder} holds a shop already. Say --replace, and it stands aside under "
                "another name; or name an empty folder in GRIPCOUNT_DATA."
            )
        connections.close_all()
        try:
            with held(folder):
                said = put_back(
                    file=options["file"],
                    folder=folder,
                    now=timezone.now(),
                    as_it_is=options["as_it_is"],
                )
        except (Refused, CannotStart) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            f"The shop stands in {folder} as it was on {said.made_at[:16]}"
            f"{'' if options['as_it_is'] else ', proven whole'}, with {len(said.photographs)} photographs. Serve it as before."
        )
