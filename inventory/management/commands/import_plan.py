"""Import a plan file: `import_plan FILE [--list NAME] [--apply] [--good-rows]`."""

from collections.abc import Iterable
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from inventory.management.importing import ImportCommand
from inventory.people.models import User
from inventory.planning.actions import importing
from inventory.planning.rules.example import plan_example
from inventory.sheets import Told


class Command(ImportCommand[importing.Preview]):
    """Stages, assemblies, what they ask, drill and hold."""

    help = "Import the plan of an aircraft from CSV or XLSX."
    wanted = "the plan's file"
    unchanged = "The plan is as the file says already: nothing changed."

    def add_arguments(self, parser: CommandParser) -> None:
        """Which list of the plan it is, and whether what is closed may change."""
        super().add_arguments(parser)
        parser.add_argument(
            "--list",
            default="",
            help="the list it is: what came from that one is replaced, a new one is "
            "added (without it: by the file's name, or the list it resembles)",
        )
        parser.add_argument(
            "--closed-too",
            action="store_true",
            help="change what is closed all the same",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """As every import."""
        self.origin = " ".join(options["list"].split())[:80]
        self.closed_too = options["closed_too"]
        super().handle(*args, **options)

    def example(self) -> str:
        """A filled plan."""
        return plan_example()

    def look(self, name: str, data: bytes, told: Told) -> importing.Preview:
        """What the plan would change."""
        return importing.preview(name=name, data=data, origin=self.origin, told=told)

    def bad_rows(self, found: importing.Preview) -> Iterable[tuple[int, str]]:
        """Line and sentence of each bad row."""
        return [(row.line, row.sentence) for row in found.bad]

    def sentences(self, found: importing.Preview) -> Iterable[str]:
        """Which list it is, then each change in words."""
        closed = [f"closed, and would change: {name}" for name in found.closed]
        told = [change.sentence for change in found.changes]
        return [found.told, *told, *closed]

    def apply(self, found: importing.Preview, by: User, *, good_rows_only: bool) -> str:
        """Change the plan; callouts nobody understood are named."""
        importing.apply(
            found=found,
            by=by,
            now=timezone.now(),
            good_rows_only=good_rows_only,
            closed_too=self.closed_too,
        )
        plan = found.plan
        pieces = sum(
            each * plan.how_many[key[0], key[1]] for key, each in plan.needs.items()
        )
        said = (
            f"Imported: {len(plan.starts)} stages, {len(plan.how_many)} assemblies, "
            f"{len({key[2] for key in plan.needs})} callouts, {pieces:,} pieces."
        )
        unread = importing.unread_callouts()
        if not unread:
            return said
        return (
            f"{said}\nKept but not understood: {', '.join(unread)}. Teach them on their "
            "item's page."
        )
