"""Make the shop's owner: `create_owner --name NAME [--email ADDRESS]`."""

import os
from getpass import getpass
from typing import Any

from django.core.management.base import CommandError, CommandParser

from inventory.management.plain import PlainCommand, refusals
from inventory.people.actions import create_owner


class Command(PlainCommand):
    """The password is asked for, or read from GRIPCOUNT_OWNER_PASSWORD."""

    help = "Make the owner of an empty shop."

    def add_arguments(self, parser: CommandParser) -> None:
        """Who, and where alerts go."""
        parser.add_argument("--name", required=True)
        parser.add_argument("--email", default="")

    def handle(self, *args: Any, **options: Any) -> None:
        """Ask for the password twice unless the environment gives it."""
        password = os.environ.get("GRIPCOUNT_OWNER_PASSWORD")
        if password is None:
            password = getpass("Password, 15 characters or more: ")
            if getpass("Once more: ") != password:
                raise CommandError("The two differ: run it again.")
        with refusals():
            create_owner(
                name=options["name"], password=password, email=options["email"]
            )
        self.stdout.write(f"{options['name']} owns this shop.")
