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
from django.core.management import call_command

from inventory.config.bootstrap import say


def main() -> int:
    """Migrate, then load the demo, or say how a new shop gets its owner."""
    django.setup()
    say("Bringing the tables up to date.")
    call_command("migrate", interactive=False, verbosity=0)
    if get_user_model().objects.exists():
        return 0
    if settings.DEMO:
        say("Making the demo workshop.")
        call_command("load_demo", verbosity=0)
        return 0
    say("This shop is nobody's yet: open it on this machine, and it asks whose it is.")
    say(f"Or, in another terminal: {owner_command()}")
    return 0


def owner_command() -> str:
    """The line that makes the owner, for the folder that is served."""
    folder = os.environ.get("GRIPCOUNT_DATA", "")
    where = f"GRIPCOUNT_DATA={shlex.quote(folder)} " if folder else ""
    return f"{where}python3 manage.py create_owner --name YOUR-NAME"


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit(130)
