"""The plan as it stands, as CSV that can be imported: `export_plan > plan.csv`."""

from typing import Any

from inventory.management.plain import PlainCommand
from inventory.planning.queries import current_build
from inventory.planning.queries.stored import stored_plan
from inventory.planning.rules.unfolding import plan_csv


class Command(PlainCommand):
    """Stages, assemblies, what they ask, drill and hold, and the list of each line."""

    help = "Print the plan as CSV."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print it."""
        self.stdout.write(plan_csv(stored_plan(current_build())), ending="")
