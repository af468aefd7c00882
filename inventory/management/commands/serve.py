"""`serve`, for those who come through Django; manage.py goes there directly."""

import sys
from typing import Any

from django.core.management.base import CommandParser

from inventory.config import supervisor
from inventory.management.plain import PlainCommand


class Command(PlainCommand):
    """The web, the worker and its clock on one data folder, under one command."""

    help = "Serve your shop, or with --demo a made-up one, until Ctrl-C."

    def add_arguments(self, parser: CommandParser) -> None:
        supervisor.add_arguments(parser)

    def handle(self, *_args: Any, **options: Any) -> None:
        asked = ("demo", "fresh", "lan", "host", "port")
        wish = supervisor.ServeOptions(**{name: options[name] for name in asked})
        sys.exit(supervisor.serve(wish))
