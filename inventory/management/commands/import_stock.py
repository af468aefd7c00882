"""Import opening stock and bins: `import_stock FILE [--apply] [--template]`."""

from django.utils import timezone

from inventory.management.importing import ImportCommand
from inventory.ordering.actions import opening
from inventory.ordering.rules.example import stock_example
from inventory.people.models import User
from inventory.sheets import Told


class Command(ImportCommand[opening.StockPreview]):
    """Bins and what they hold."""

    help = "Import opening stock and bins from CSV or XLSX."
    wanted = "the stock list's file"
    unchanged = "The shop is as the list says: nothing changed."

    def example(self) -> str:
        """A filled stock list."""
        return stock_example()

    def look(self, name: str, data: bytes, told: Told) -> opening.StockPreview:
        """What the list would change."""
        return opening.preview(name=name, data=data, told=told)

    def apply(
        self, found: opening.StockPreview, by: User, *, good_rows_only: bool
    ) -> str:
        """Change the bins."""
        changed = opening.apply(
            found=found, by=by, now=timezone.now(), good_rows_only=good_rows_only
        )
        return f"Imported: {changed} changes, {len(found.lines)} bins named."
