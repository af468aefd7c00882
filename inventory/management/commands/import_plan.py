"""Import a plan file: `import_plan FILE [--apply] [--good-rows] [--template]`."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from inventory.alerts.tasks import wake
from inventory.management.plain import file_bytes, list_arguments, owner, refusals
from inventory.planning.actions import importing
from inventory.planning.rules.example import plan_example


class Command(BaseCommand):
    """Reads CSV or XLSX; a first plan is taken at once, a changed one is shown first."""

    help = "Import the plan of an aircraft from CSV or XLSX."

    def add_arguments(self, parser: CommandParser) -> None:
        """The file, and how far to go."""
        list_arguments(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        """Show what is bad and what would change; apply it when that is safe."""
        if options["template"]:
            self.stdout.write(plan_example(), ending="")
            return
        if not options["file"]:
            raise CommandError("Name the plan's file, or ask for --template.")
        with refusals():
            found = importing.preview(
                name=Path(options["file"]).name, data=file_bytes(options["file"])
            )
            for row in found.bad:
                self.stderr.write(f"line {row.line}: {row.sentence}")
            if not found.changes:
                self._unchanged(found)
                return
            if not found.first and not options["apply"]:
                self._show(found)
                return
            importing.apply(
                found=found,
                by=owner(),
                now=timezone.now(),
                good_rows_only=options["good_rows"],
            )
            wake()
        self._summary(found)

    def _unchanged(self, found: importing.Preview) -> None:
        if found.bad:
            raise CommandError("No row could be taken: nothing was imported.")
        self.stdout.write("The plan is as the file says already: nothing changed.")

    def _show(self, found: importing.Preview) -> None:
        for change in found.changes:
            self.stdout.write(change.sentence)
        self.stdout.write(
            f"{len(found.changes)} changes, none applied yet. Run it again with --apply."
        )

    def _summary(self, found: importing.Preview) -> None:
        plan = found.plan
        pieces = sum(
            each * plan.how_many[key[0], key[1]] for key, each in plan.needs.items()
        )
        self.stdout.write(
            f"Imported: {len(plan.starts)} stages, {len(plan.how_many)} assemblies, "
            f"{len({key[2] for key in plan.needs})} callouts, {pieces:,} pieces."
        )
        unread = importing.unread_callouts()
        if unread:
            self.stdout.write(
                f"Kept but not understood: {', '.join(unread)}. Teach them on their "
                "item's page."
            )
