"""May each stage start: `readiness [--json]`."""

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from inventory.supply.queries import readiness
from inventory.supply.report import as_data, in_words


class Command(BaseCommand):
    """Prints a line a stage with the one item in the way, or everything as JSON."""

    help = "For each stage: ready, short of, or ready but for; and what is in the way."

    def add_arguments(self, parser: CommandParser) -> None:
        """Words or JSON."""
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        """Recompute now and print."""
        found = readiness(timezone.localdate())
        if options["json"]:
            self.stdout.write(json.dumps(as_data(found), indent=1))
            return
        self.stdout.write("\n".join(in_words(found)))
