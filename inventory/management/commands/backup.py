"""Back the shop up: `backup`, and to a second folder with `--to FOLDER`."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from inventory.backups.actions.backing import back_up
from inventory.errors import Refused
from inventory.management.plain import PlainCommand
from inventory.people.queries import shop


class Command(PlainCommand):
    """Safe while the shop is served; the worker does it once a day."""

    help = "Back the shop up, prove the backup, and keep 7 days, 4 weeks, 12 months."

    def add_arguments(self, parser: CommandParser) -> None:
        """Where else."""
        parser.add_argument("--to", default="", help="a second folder, for this time")

    def handle(self, *args: Any, **options: Any) -> None:
        """Make it and say where it lies."""
        try:
            file = back_up(
                folder=Path(settings.DATA),
                now=timezone.now(),
                second_folder=options["to"] or shop().backup_folder,
            )
        except Refused as refusal:
            raise CommandError(refusal.sentence) from refusal
        self.stdout.write(
            f"Backed up and proven: {file}. Photographs lie beside it, in 'photographs': "
            "copy both. Put back with: manage.py restore FILE"
        )
