"""Before the doors open: tables up to date, and somebody who may sign in.

A process of its own, because Django reads its settings from the environment once, and
because the supervisor stays small without Django in it.
"""

import os
import shlex
import sys

import django
from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.management import CommandError, call_command

from inventory.config.bootstrap import say

TRIES = 3


def main() -> int:
    """Migrate, then load the demo or ask for the owner where nobody is known yet."""
    django.setup()
    call_command("migrate", interactive=False, verbosity=0)
    if get_user_model().objects.exists():
        return 0
    if settings.DEMO:
        call_command("load_demo", verbosity=0)
        return 0
    if sys.stdin.isatty():
        return ask_for_owner()
    say(f"Nobody can sign in yet. In another terminal: {owner_command()}")
    return 0


def owner_command() -> str:
    """The line that makes the owner, for the folder that is served."""
    folder = os.environ.get("GRIPCOUNT_DATA", "")
    where = f"GRIPCOUNT_DATA={shlex.quote(folder)} " if folder else ""
    return f"{where}python3 manage.py create_owner --name YOUR-NAME"


def ask_for_owner() -> int:
    """Ask for the owner's name; the command that makes the owner asks the password."""
    say("A new shop. Who owns it? A sign-in name, then a password of 15 or more.")
    for _ in range(TRIES):
        name = input("Name: ").strip()
        try:
            call_command("create_owner", name=name)
        except CommandError as reason:
            say(str(reason))
        else:
            return 0
    return 1


if __name__ == "__main__":
    try:
        sys.exit(main())
    except (KeyboardInterrupt, EOFError):
        sys.exit(130)
