"""A command that asks the trade one question and prints the answer, or its JSON."""

import json
from typing import Any, ClassVar

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from inventory.errors import Refused
from inventory.management.plain import PlainCommand
from inventory.trade.cautions import Caution
from inventory.trade.questions.shape import (
    Answer,
    Field,
    Question,
    Warned,
    as_data,
    refused_data,
)


class AskingCommand(PlainCommand):
    """Takes the question's fields; needs no shop and no database.

    With --json every thing asked gets one line, a refused one too; the exit status is
    1 when any was refused.
    """

    question: ClassVar[Question]

    def add_arguments(self, parser: CommandParser) -> None:
        """The question's fields, and words or JSON."""
        fields = list(self.question.fields)
        if self.question.positional:
            _positional(parser, fields.pop(0), many=self.question.many)
        for each in fields:
            _named(parser, each)
        parser.add_argument("--json", action="store_true", help="answer as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        """Answer each thing asked."""
        refused = 0
        for given in _asked(self.question, options):
            try:
                answer = self.question.answer(given)
            except Refused as error:
                refused += 1
                self._refuse(error, as_json=options["json"])
            else:
                self._answer(answer, as_json=options["json"])
        if refused:
            raise CommandError(f"{refused} not answered.", returncode=1)

    def _answer(self, answer: Answer, *, as_json: bool) -> None:
        self.stdout.write(json.dumps(as_data(answer)) if as_json else in_words(answer))

    def _refuse(self, error: Refused, *, as_json: bool) -> None:
        if as_json:
            self.stdout.write(json.dumps(refused_data(error)))
        else:
            self.stderr.write(error.sentence)


def _positional(parser: CommandParser, each: Field, *, many: bool) -> None:
    nargs = "+" if many else None
    parser.add_argument(
        each.name, help=_help(each), metavar=each.name.upper(), nargs=nargs
    )


def _named(parser: CommandParser, each: Field) -> None:
    name, words = "--" + each.name.replace("_", "-"), _help(each)
    if each.flag:
        parser.add_argument(name, action="store_true", help=words)
        return
    # What is none of the choices the question refuses, so that JSON has its line too.
    parser.add_argument(name, default="", help=words, metavar=each.name.upper())


def _help(each: Field) -> str:
    """What a field is, for argparse, which takes a per cent sign for its own."""
    words = f"{each.label}: {each.help}" if each.help else each.label
    if each.choices:
        words += f"; one of {', '.join(each.choices)}"
    elif each.example:
        words += f", such as {each.example}"
    if each.default:
        words += f" (without it {each.default})"
    return words.replace("%", "%%")


def _asked(question: Question, options: dict[str, Any]) -> list[dict[str, str]]:
    """What was given, once for each thing asked."""
    given = {
        each.name: each.given_on(timezone.localdate(), _text(options[each.name]))
        for each in question.fields
        if not isinstance(options[each.name], list)
    }
    first = question.fields[0].name
    texts = options[first] if question.many else [given[first]]
    return [{**given, first: text} for text in texts]


def _text(value: str | bool) -> str:
    return value if isinstance(value, str) else "yes" * value


def in_words(answer: Answer) -> str:
    """An answer as lines: the headline, each figure with its source, what to mind."""
    lines = [answer.headline]
    lines += [
        f"  {each.name}: {each.text} [{each.certainty}; {each.source}]"
        for each in answer.figures
    ]
    lines += [_mind(each) for each in answer.warnings]
    lines += [_mind(each) for each in answer.cautions]
    return "\n".join([*lines, answer.airworthiness])


def _mind(each: Warned | Caution) -> str:
    return f"  Mind: {each.sentence} [{each.certainty}; {each.source}]"
