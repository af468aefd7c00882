"""Prove every balance against its movements."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from inventory.ledger.queries import flaws


class Command(BaseCommand):
    """Ends with a non-zero code when a balance is not the sum of its movements."""

    help = "Prove that every balance is the sum of its movements."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print each flaw, or that there is none."""
        found = flaws()
        for row in found:
            self.stderr.write(
                f"place {row.place_id}, item {row.item_id}: the balance says "
                f"{row.balance}, the movements sum to {row.summed}"
            )
        if found:
            raise CommandError(
                f"{len(found)} balances are wrong. Keep a backup and trust the "
                "movements: they are never changed."
            )
        self.stdout.write("Every balance is the sum of its movements.")
