"""Import a price list: `import_offers FILE [--apply] [--template]`."""

from inventory.management.importing import ImportCommand
from inventory.ordering.actions import offering
from inventory.ordering.rules.example import offers_example
from inventory.people.models import User
from inventory.sheets import Told


class Command(ImportCommand[offering.OffersPreview]):
    """Suppliers' terms, packs and prices."""

    help = "Import suppliers' terms, packs and prices from CSV or XLSX."
    wanted = "the price list's file"
    unchanged = "The offers are as the list says: nothing changed."

    def example(self) -> str:
        """A filled price list."""
        return offers_example()

    def look(self, name: str, data: bytes, told: Told) -> offering.OffersPreview:
        """What the list would change."""
        return offering.preview(name=name, data=data, told=told)

    def apply(
        self, found: offering.OffersPreview, by: User, *, good_rows_only: bool
    ) -> str:
        """Change the offers."""
        changed = offering.apply(found=found, by=by, good_rows_only=good_rows_only)
        return f"Imported: {changed} changes, {len(found.lines)} rows."
