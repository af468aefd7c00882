"""The combined order that costs least: `order_plan [--json] [--limit S] [--days D]`."""

import json
from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.core.serializers.json import DjangoJSONEncoder
from django.utils import timezone

from inventory.buying import actions
from inventory.buying.models import DONE, OrderPlan
from inventory.buying.queries.plans import plan_data, proof_of
from inventory.buying.rules.market import DAYS_AHEAD
from inventory.buying.rules.sheet import in_words
from inventory.buying.solver.solving import SECONDS
from inventory.management.plain import PlainCommand, owner, refusals


class Command(PlainCommand):
    """Solves now, in the same child process as the worker, and prints the plan."""

    help = "Work out the combined order that costs least, and print it."

    def add_arguments(self, parser: CommandParser) -> None:
        """Words or JSON, seconds allowed, days looked ahead."""
        parser.add_argument("--json", action="store_true")
        parser.add_argument("--limit", type=int, default=SECONDS, metavar="SECONDS")
        parser.add_argument("--days", type=int, default=DAYS_AHEAD)

    def handle(self, *args: Any, **options: Any) -> None:
        """Ask, work it out here, print."""
        with refusals():
            asked = actions.ask_plan(
                by=owner(),
                now=timezone.now(),
                days_ahead=options["days"],
                limit=options["limit"],
            )
            taken = actions.work_out(pk=asked.pk, clock=timezone.now)
        row = OrderPlan.objects.get(pk=asked.pk)
        if not taken:
            raise CommandError("A plan is being worked out already: wait for it.")
        if row.state != DONE:
            raise CommandError(row.sentence)
        if options["json"]:
            self.stdout.write(json.dumps(plan_data(), indent=1, cls=DjangoJSONEncoder))
            return
        self.stdout.write("\n".join(in_words(row.found, proof_of(row))))
