"""How fast this machine does the work: `benchmark [NAME...] [--json]`."""

import json
from typing import Any

from django.core.management.base import CommandError, CommandParser

from inventory.errors import Refused
from inventory.management.measures.index import MEASURES, chosen
from inventory.management.plain import PlainCommand


class Command(PlainCommand):
    """Takes the measures in one run, each beside a reference, and prints their rows.

    With --json every row is a line. A target that is not met is said, and is no error.
    """

    help = "Measure, in one run, figures and their ratio to a reference of that run."

    def add_arguments(self, parser: CommandParser) -> None:
        """Which measures, and words or JSON."""
        known = "; ".join(f"{each.name}: {each.tells}" for each in MEASURES)
        # A per cent sign would be a placeholder in the help.
        known = known.replace("%", "%%")
        parser.add_argument("name", nargs="*", help=f"all without one; {known}")
        parser.add_argument("--json", action="store_true", help="rows as JSON")
        parser.add_argument("--seed", type=int, help="of the photos")
        parser.add_argument(
            "--count", type=int, help="of photos (20 at least), of movements (growth)"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Take each and print it as soon as it is there."""
        try:
            measures = chosen(options["name"])
        except Refused as error:
            raise CommandError(error.sentence) from error
        for each in measures:
            given = {name: options[name] for name in each.options}
            given = {name: to for name, to in given.items() if to is not None}
            for row in each.take(**given):
                said = json.dumps(row.as_data()) if options["json"] else row.in_words()
                self.stdout.write(said)
