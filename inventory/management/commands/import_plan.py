"""Import a plan file: `import_plan FILE [--apply] [--good-rows] [--template]`."""

from collections.abc import Iterable

from django.utils import timezone

from inventory.management.importing import ImportCommand
from inventory.people.models import User
from inventory.planning.actions import importing
from inventory.planning.rules.example import plan_example


class Command(ImportCommand[importing.Preview]):
    """Stages, assemblies, what they ask, drill and hold."""

    help = "Import the plan of an aircraft from CSV or XLSX."
    wanted = "the plan's file"
    unchanged = "The plan is as the file says already: nothing changed."

    def example(self) -> str:
        """A filled plan."""
        return plan_example()

    def look(self, name: str, data: bytes) -> importing.Preview:
        """What the plan would change."""
        return importing.preview(name=name, data=data)

    def bad_rows(self, found: importing.Preview) -> Iterable[tuple[int, str]]:
        """Line and sentence of each bad row."""
        return [(row.line, row.sentence) for row in found.bad]

    def sentences(self, found: importing.Preview) -> Iterable[str]:
        """Each change in words."""
        return [change.sentence for change in found.changes]

    def apply(self, found: importing.Preview, by: User, *, good_rows_only: bool) -> str:
        """Change the plan; callouts nobody understood are named."""
        importing.apply(
            found=found, by=by, now=timezone.now(), good_rows_only=good_rows_only
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
