"""May each stage start: `readiness [--away DAYS] [--swap A B] [--faster X] [--json]`."""

import json
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from inventory.forecasting.queries.readiness import readiness
from inventory.forecasting.queries.report import as_data, in_words
from inventory.management.plain import PlainCommand, refusals
from inventory.planning.rules.whatif import WhatIf


class Command(PlainCommand):
    """Prints a line a stage with the one item in the way, or everything as JSON."""

    help = "For each stage: ready, short of, or ready but for; and what is in the way."

    def add_arguments(self, parser: CommandParser) -> None:
        """Words or JSON."""
        parser.add_argument("--json", action="store_true")
        parser.add_argument(
            "--away", type=int, default=0, help="what if: so many days away from now"
        )
        parser.add_argument(
            "--swap", nargs=2, type=int, help="what if: these two stages (ids) swapped"
        )
        parser.add_argument(
            "--faster", type=float, default=1.0, help="what if: so many times as fast"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Recompute now and print."""
        with refusals():
            swap = (options["swap"][0], options["swap"][1]) if options["swap"] else None
            what = WhatIf(options["away"], swap, options["faster"])
            found = readiness(timezone.localdate(), what)
        if not what.changes_nothing and not options["json"]:
            self.stdout.write(f"What if: {what.words}. Nothing is changed.")
        if options["json"]:
            self.stdout.write(json.dumps(as_data(found), indent=1))
            return
        self.stdout.write("\n".join(in_words(found)))
