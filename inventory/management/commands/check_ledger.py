"""Prove that the record is whole: every invariant, the pictures, the database itself."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError
from django.utils import timezone

from inventory.management.plain import PlainCommand
from inventory.scanning.actions import prove


class Command(PlainCommand):
    """Ends with a non-zero code when anything is wrong."""

    help = "Prove that the record is whole; the worker does it every night."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print each flaw, or that there is none."""
        found = prove(folder=Path(settings.DATA), now=timezone.now())
        for flaw in found:
            self.stderr.write(str(flaw))
        if found:
            raise CommandError(
                f"{len(found)} flaws. Keep a copy of the data folder as it is now, and "
                "count the bins that are named before you trust them."
            )
        self.stdout.write("The record is whole: every check holds.")
