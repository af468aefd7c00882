#!/usr/bin/env python3
"""Gripcount's one command: `serve`, `test`, and everything else Django offers.

It runs on a bare Python: what is missing it installs beside itself, into .venv.
"""

import os
import sys

OLDEST = (3, 11)


def main():
    """Enter the project's own environment, then do what was asked."""
    if sys.version_info < OLDEST:
        here = ".".join(str(part) for part in sys.version_info[:3])
        print(f"Gripcount needs Python 3.11 or newer, and this is {here}.")
        print("Run it with a newer one by name, as in: python3.11 manage.py serve")
        return 2
    from inventory.config import bootstrap, paths

    paths.keep_private()
    bootstrap.enter(sys.argv)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "inventory.config.settings")
    # These two set the environment of what they start, so Django is not loaded yet.
    if sys.argv[1:2] == ["test"]:
        from inventory.config import proof

        return proof.main(sys.argv[2:])
    if sys.argv[1:2] == ["serve"]:
        from inventory.config import supervisor

        return supervisor.main(sys.argv[2:])
    from django.core.management import execute_from_command_line

    return execute_from_command_line(sys.argv)


if __name__ == "__main__":
    sys.exit(main())
