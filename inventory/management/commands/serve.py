"""`serve`, for those who come through Django; manage.py goes there directly."""

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from inventory.config import supervisor


class Command(BaseCommand):
    """The web, the worker and its clock on one data folder, under one command."""

    help = "Serve your shop, or with --demo a made-up one, until Ctrl-C."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        supervisor.add_arguments(parser)

    def handle(self, *_args: Any, **options: Any) -> None:
        asked = ("demo", "fresh", "lan", "host", "port")
        wish = supervisor.ServeOptions(**{name: options[name] for name in asked})
        sys.exit(supervisor.serve(wish))
