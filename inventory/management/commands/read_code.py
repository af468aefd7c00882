"""What a scanned string is: `read_code TEXT... [--json]`."""

import json
from typing import Any

from django.core.management.base import CommandError, CommandParser

from inventory.errors import Refused
from inventory.management.plain import PlainCommand
from inventory.scanning.rules.explaining import Explained, explained, refused


class Command(PlainCommand):
    """Needs no shop and no database; control characters count, so quote the text.

    With --json every text gets one line, a refused one too; the exit status is 1 when
    any was refused.
    """

    help = "What a scanned string is, and what its fields say."

    def add_arguments(self, parser: CommandParser) -> None:
        """The strings, and words or JSON."""
        parser.add_argument("text", nargs="+", help="what the scanner sent")
        parser.add_argument("--json", action="store_true", help="answer as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        """One answer a string."""
        wrong = 0
        for text in options["text"]:
            try:
                answer = explained(text)
            except Refused as error:
                wrong += 1
                answer = refused(error)
            answer = {"text": text, **answer}
            said = json.dumps(answer) if options["json"] else _in_words(answer)
            self.stdout.write(said)
        if wrong:
            raise CommandError(f"{wrong} not read.", returncode=1)


def _in_words(answer: Explained) -> str:
    if "error" in answer:
        return f"{answer['text']!r}: {answer['error']['sentence']}"
    lines = [f"{answer['text']!r}: {answer['kind']}"]
    lines += [
        f"  {name}: {value}"
        for name, value in answer.items()
        if name not in ("text", "kind", "fields") and value not in ("", [], {}, None)
    ]
    lines += [f"  {name} = {value}" for name, value in answer.get("fields", [])]
    return "\n".join(lines)
