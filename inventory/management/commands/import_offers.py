"""Import a price list: `import_offers FILE [--apply] [--template]`."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.alerts.tasks import wake
from inventory.management.plain import file_bytes, list_arguments, owner, refusals
from inventory.supply.actions import offering
from inventory.supply.example import offers_example


class Command(BaseCommand):
    """Reads CSV or XLSX; the first list is taken at once, a changed one shown first."""

    help = "Import suppliers' terms, packs and prices from CSV or XLSX."

    def add_arguments(self, parser: CommandParser) -> None:
        """The file, and how far to go."""
        list_arguments(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        """Show what is bad and what would change; apply it when that is safe."""
        if options["template"]:
            self.stdout.write(offers_example(), ending="")
            return
        if not options["file"]:
            raise CommandError("Name the price list's file, or ask for --template.")
        with refusals():
            found = offering.preview(
                name=Path(options["file"]).name, data=file_bytes(options["file"])
            )
            for line, sentence in found.bad:
                self.stderr.write(f"line {line}: {sentence}")
            if not found.changes:
                if found.bad:
                    raise CommandError("No row could be taken: nothing was imported.")
                self.stdout.write("The offers are as the list says: nothing changed.")
                return
            if not found.first and not options["apply"]:
                self.stdout.write("\n".join(found.changes))
                self.stdout.write(
                    f"{len(found.changes)} changes, none applied yet. Run it again "
                    "with --apply."
                )
                return
            changed = offering.apply(
                found=found, by=owner(), good_rows_only=options["good_rows"]
            )
            wake()
        self.stdout.write(f"Imported: {changed} changes, {len(found.lines)} rows.")
