"""Everything that was put into the shop, as one file: `take_out FILE`."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from inventory.backups.actions.archiving import take_out
from inventory.management.plain import PlainCommand, refusals


class Command(PlainCommand):
    """Safe while the shop is served."""

    help = "Write all that the shop holds into one file that any program can read."

    def add_arguments(self, parser: CommandParser) -> None:
        """Where to."""
        parser.add_argument("file", type=Path, help="gripcount-archive.zip, say")

    def handle(self, *args: Any, **options: Any) -> None:
        """Write it and say what is in it."""
        file = options["file"].resolve()
        if file.exists():
            raise CommandError(f"{file} is there already: name another file.")
        try:
            with refusals():
                said = take_out(
                    file=file, folder=Path(settings.DATA), now=timezone.now()
                )
        except OSError as error:
            raise CommandError(
                f"{file} cannot be written: {error.strerror}."
            ) from error
        rows = sum(each.rows for each in said.tables.values())
        self.stdout.write(
            f"Taken out into {file}: {rows:,} rows of {len(said.tables)} tables and "
            f"{len(said.photographs)} photographs. The record's people and prices are in "
            "it: keep it safe. An empty shop takes it in: manage.py take_in FILE"
        )
        if said.lost:
            self.stderr.write(
                f"{len(said.lost)} photographs of the record are not in the shop's "
                f"folder any more, the first: {said.lost[0]}."
            )
