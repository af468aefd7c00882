"""Simulated builders try five ways of buying: `rehearse [--builds N] [--seed S]`."""

import json
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError, CommandParser

from inventory.management.plain import PlainCommand
from inventory.planning.rules.compare import plan_of
from inventory.planning.rules.lines import COLUMNS, parse
from inventory.rehearsal.report import as_data, in_words
from inventory.rehearsal.seen.plan import Aircraft
from inventory.rehearsal.trials import BuildSource, rehearse
from inventory.rehearsal.world.aircraft import of_plan
from inventory.sheets import read

PLAN = Path(settings.ROOT) / "fixtures" / "plan.csv"


class Command(PlainCommand):
    """Builds the demo's aircraft and random ones, in two worlds; needs no shop.

    Progress goes to the error stream. The same seed gives the same print. A target
    that is missed is said, and is no error.
    """

    help = "Rehearse builds: as builders buy by habit, and as the program says."

    def add_arguments(self, parser: CommandParser) -> None:
        """How many builds of each aircraft, drawn from which seed."""
        parser.add_argument("--builds", type=int, default=20, help="of each aircraft")
        parser.add_argument("--seed", type=int, default=1, help="0 or more")
        parser.add_argument("--json", action="store_true", help="answer as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        """Rehearse and print."""
        builds, seed = options["builds"], options["seed"]
        if builds < 1 or seed < 0:
            raise CommandError(
                f"Expected 1 build or more and a seed of 0 or more; got {builds} and "
                f"{seed}. Give --builds 20 --seed 1."
            )
        drawing = BuildSource(demo(), builds, seed)
        found = rehearse(drawing, self.stderr.write)
        said = json.dumps(as_data(found)) if options["json"] else in_words(found)
        self.stdout.write(said)


def demo() -> Aircraft:
    """The aircraft of the demo's plan file."""
    good, _bad = parse(read(PLAN.name, PLAN.read_bytes(), COLUMNS))
    return of_plan("demo", plan_of(good))
