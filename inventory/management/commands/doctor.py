"""How the shop runs: what works, what does not, and what to do."""

from typing import Any

from django.core.management.base import CommandError
from django.utils import timezone

from inventory.alerts.queries.running import RunningState, running_parts
from inventory.alerts.tasks import why_no_broker
from inventory.management.plain import PlainCommand


class Command(PlainCommand):
    """Ends with a non-zero code when something must be mended now."""

    help = "Tell how the shop runs: database, worker, broker, letters, backups, disk."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print a line for each part."""
        parts = running_parts(timezone.now(), why_no_broker())
        for part in parts:
            self.stdout.write(f"{part.state.upper():<5} {part.name}: {part.words}")
        wrong = [part.name for part in parts if part.state is RunningState.STOP]
        if wrong:
            raise CommandError(f"Mend now: {', '.join(wrong)}.")
