"""What the commands share: a refusal is a sentence, a file is read whole."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.core.management.base import CommandError, CommandParser

from inventory.errors import Refused
from inventory.people.models import User


@contextmanager
def refusals() -> Iterator[None]:
    """Say a refusal in its own words and end with a non-zero code."""
    try:
        yield
    except Refused as error:
        raise CommandError(error.sentence) from error


def file_bytes(path: str) -> bytes:
    """The file's bytes, or a sentence."""
    try:
        return Path(path).read_bytes()
    except OSError as error:
        raise CommandError(f"{path} cannot be read: {error.strerror}.") from error


def list_arguments(parser: CommandParser) -> None:
    """What both imports are told: the file, and how far to go."""
    parser.add_argument("file", nargs="?")
    parser.add_argument(
        "--apply", action="store_true", help="apply the difference that was shown"
    )
    parser.add_argument(
        "--good-rows", action="store_true", help="import without the bad rows"
    )
    parser.add_argument(
        "--template", action="store_true", help="print a filled example and stop"
    )


def owner() -> User:
    """In whose name a command acts: the shop's owner."""
    user = User.objects.filter(is_superuser=True).order_by("pk").first()
    if user is None:
        raise CommandError(
            "This shop has no owner yet: run manage.py create_owner first."
        )
    return user
