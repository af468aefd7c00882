"""What the commands share: a refusal is a sentence, a file is read whole."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from inventory.errors import Refused
from inventory.people.models import User


class PlainCommand(BaseCommand):
    """A command that begins at once.

    What Django's checks could find is in the code and the settings, where the tests look;
    to import every page for them took a third of a short command's time.
    """

    requires_system_checks = ()


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


def owner() -> User:
    """In whose name a command acts: the shop's owner."""
    user = User.objects.filter(is_superuser=True).order_by("pk").first()
    if user is None:
        raise CommandError(
            "This shop has no owner yet: run manage.py create_owner first."
        )
    return user
