"""A command that takes a person's list: bad rows, the difference, then the change."""

from abc import abstractmethod
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, ClassVar, Generic, Protocol, TypeVar

from django.core.management.base import CommandError, CommandParser

from inventory.alerts.tasks import wake
from inventory.management.plain import PlainCommand, file_bytes, owner, refusals
from inventory.people.models import User
from inventory.sheets import Table, Told, how_read


class Looked(Protocol):
    """What a list would change: nothing is written yet. `first`: there is none before."""

    @property
    def first(self) -> bool: ...
    @property
    def bad(self) -> Sequence[Any]: ...
    @property
    def changes(self) -> Sequence[Any]: ...
    @property
    def table(self) -> Table: ...


Found = TypeVar("Found", bound=Looked)


class ImportCommand(PlainCommand, Generic[Found]):
    """Reads CSV or XLSX; a first list is taken at once, a changed one is shown first.

    `wanted` names the file in a sentence, `unchanged` is said when nothing differs.
    """

    wanted: ClassVar[str]
    unchanged: ClassVar[str]

    def add_arguments(self, parser: CommandParser) -> None:
        """The file, and how far to go."""
        parser.add_argument("file", nargs="?")
        parser.add_argument(
            "--apply", action="store_true", help="apply the difference that was shown"
        )
        parser.add_argument(
            "--good-rows", action="store_true", help="import without the bad rows"
        )
        parser.add_argument(
            "--dates",
            choices=("day", "month"),
            help="what comes first in a date such as 02/03/2027",
        )
        parser.add_argument(
            "--column",
            action="append",
            default=[],
            metavar="HEADER=COLUMN",
            help="the column that a header means; nothing after = leaves it out",
        )
        parser.add_argument(
            "--template", action="store_true", help="print a filled example and stop"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Show what is bad and what would change; apply it when that is safe."""
        if options["template"]:
            self.stdout.write(self.example(), ending="")
            return
        if not options["file"]:
            raise CommandError(f"Name {self.wanted}, or ask for --template.")
        with refusals():
            path = Path(options["file"])
            told = _told(options["dates"], options["column"])
            found = self.look(path.name, file_bytes(options["file"]), told)
            for sentence in how_read(found.table):
                self.stderr.write(sentence)
            for line, sentence in self.bad_rows(found):
                self.stderr.write(f"line {line}: {sentence}")
            if not self._is_to_apply(found, shown=options["apply"]):
                return
            said = self.apply(found, owner(), good_rows_only=options["good_rows"])
            wake()
        self.stdout.write(said)

    def _is_to_apply(self, found: Found, *, shown: bool) -> bool:
        if not found.changes:
            if found.bad:
                raise CommandError("No row could be taken: nothing was imported.")
            self.stdout.write(self.unchanged)
            return False
        if found.first or shown:
            return True
        self.stdout.write("\n".join(self.sentences(found)))
        self.stdout.write(
            f"{len(found.changes)} changes, none applied yet. Run it again with --apply."
        )
        return False

    @abstractmethod
    def example(self) -> str:
        """A filled example of the list."""

    @abstractmethod
    def look(self, name: str, data: bytes, told: Told) -> Found:
        """What the list would change."""

    @abstractmethod
    def apply(self, found: Found, by: User, *, good_rows_only: bool) -> str:
        """Change it, and say in words what was done."""

    def bad_rows(self, found: Found) -> Iterable[tuple[int, str]]:
        """Line and sentence of each row that cannot be taken."""
        return found.bad

    def sentences(self, found: Found) -> Iterable[str]:
        """The difference in words."""
        return found.changes


def _told(dates: str | None, columns: Sequence[str]) -> Told:
    pairs = [each.partition("=") for each in columns]
    return Told(
        None if dates is None else dates == "day",
        {header: column.strip() for header, _, column in pairs},
    )
