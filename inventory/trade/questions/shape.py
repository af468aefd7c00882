"""What a question takes and what an answer holds, the same for a page and a command."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade.cautions import AIRWORTHINESS, Caution
from inventory.trade.drawing import Drawing
from inventory.trade.sizes import (
    MM_PER_INCH,
    nearest_32nd,
    parse_size,
    print_decimal,
)

Given = Mapping[str, str]

# More than any field needs, and little enough to be read and said again at once.
LONGEST_TEXT = 120


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One thing a question takes, as text. `choices` limit it; `flag` is yes or no.

    `is_today`: where nothing is given, it is the day on which somebody asks.
    """

    name: str
    label: str
    help: str = ""
    default: str = ""
    example: str = ""
    choices: tuple[str, ...] = ()
    required: bool = False
    flag: bool = False
    is_today: bool = False

    def given_on(self, today: date, text: str) -> str:
        """A text as given on a day: that day, where it was left to be today."""
        return today.isoformat() if self.is_today and not text.strip() else text


@dataclass(frozen=True, slots=True)
class Figure:
    """One line of an answer, with the rule behind it and how certain that is."""

    name: str
    text: str
    source: str
    certainty: str


@dataclass(frozen=True, slots=True)
class Warned:
    """Something out of range: the rule that it breaks, with its source."""

    sentence: str
    source: str
    certainty: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """`headline` is what matters most, `data` the same for a program.

    Lengths in `data` are exact fractions of an inch; they become numbers in JSON.
    """

    headline: str
    data: Mapping[str, object]
    figures: tuple[Figure, ...]
    warnings: tuple[Warned, ...] = ()
    cautions: tuple[Caution, ...] = ()
    drawing: Drawing | None = None
    airworthiness: str = AIRWORTHINESS


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A question by name.

    `positional`: the command takes the first field without its name; `many`: several
    of it, each with an answer of its own.
    """

    name: str
    title: str
    asks: str
    fields: tuple[Field, ...]
    answer: Callable[[Given], Answer]
    positional: bool = False
    many: bool = False


def text_of(given: Given, name: str, default: str = "") -> str:
    """What was given for a field, spaces aside, or the default.

    Raises Refused question.long.
    """
    text = given.get(name, "").strip()
    if len(text) > LONGEST_TEXT:
        expected = f"{name.replace('_', ' ')} in {LONGEST_TEXT} characters at most"
        raise Refused(
            "question.long",
            f"Expected {expected}; got {len(text)}, beginning '{text[:20]}'.",
            {"field": name, "text": text[:20], "expected": expected},
        )
    return text or default


def choice_of(given: Given, each: Field) -> str:
    """One of a field's choices, large or small letters, or its default.

    Raises Refused question.choice.
    """
    text = text_of(given, each.name, each.default)
    known = {choice.casefold(): choice for choice in each.choices}
    if text.casefold() not in known:
        expected = f"one of {', '.join(each.choices)}"
        raise Refused(
            "question.choice",
            f"Expected {each.name.replace('_', ' ')} as {expected}; got '{text}'.",
            {"field": each.name, "text": text, "expected": expected},
        )
    return known[text.casefold()]


def size_of(given: Given, name: str, default: str = "") -> Fraction:
    """A size in inches; millimetres are converted exactly.

    Raises Refused question.missing without one, size.unknown for no size.
    """
    text = text_of(given, name, default)
    if not text:
        raise missing(name, "a size such as 3/32, .125 or 2.5 mm")
    return parse_size(text)


def shank_of(given: Given) -> Fraction:
    """A rivet's shank in inches: 2/32 to 12/32.

    Raises Refused rivet.diameter for anything else, with the 32nd next to it: who
    measures 3.2 mm means 1/8, and is to say so.
    """
    size = size_of(given, "diameter")
    if (size * 32).denominator == 1 and 2 <= size * 32 <= 12:
        return size
    text = text_of(given, "diameter")
    expected = "a rivet diameter of 1/16 to 3/8 in steps of 1/32, such as 3/32"
    raise Refused(
        "rivet.diameter",
        f"Expected {expected}; got '{text}', next to {nearest_32nd(size)}.",
        {"text": text, "expected": expected},
    )


def missing(name: str, expected: str) -> Refused:
    """A field that has to be given: what is expected, and under which name."""
    return Refused(
        "question.missing",
        f"{name.replace('_', ' ')} is missing: expected {expected}; got nothing.",
        {"field": name, "text": "", "expected": expected},
    )


def both_units(inches: Fraction, places: int = 4) -> str:
    """'.2515 in (6.39 mm)'; whole inches keep no noughts behind the point."""
    printed = print_decimal(inches, places).removeprefix("0")
    if inches >= 1:
        printed = printed.rstrip("0").rstrip(".")
    return f"{printed} in ({print_decimal(inches * MM_PER_INCH, 2)} mm)"


def as_data(answer: Answer) -> dict[str, object]:
    """An answer for JSON: its data, then figures, warnings, cautions and the caution
    every answer stands under."""
    return {
        **{name: plain(value) for name, value in answer.data.items()},
        "figures": [
            {
                "name": each.name,
                "text": each.text,
                "source": each.source,
                "certainty": each.certainty,
            }
            for each in answer.figures
        ],
        "warnings": [_said(each) for each in answer.warnings],
        "cautions": [_said(each) for each in answer.cautions],
        "airworthiness": answer.airworthiness,
    }


def _said(each: Warned | Caution) -> dict[str, str]:
    return {
        "sentence": each.sentence,
        "source": each.source,
        "certainty": each.certainty,
    }


def plain(value: object) -> object:
    """Fractions as numbers, tuples as lists, all the way down."""
    if isinstance(value, Fraction):
        return int(value) if value.denominator == 1 else float(value)
    if isinstance(value, Mapping):
        return {name: plain(each) for name, each in value.items()}
    if isinstance(value, Iterable) and not isinstance(value, str):
        return [plain(each) for each in value]
    return value


# What an ambiguous callout could be, and why it is not the rest.
_READINGS = ("text", "readings", "failed")


def refused_data(error: Refused) -> dict[str, object]:
    """A refusal for JSON: error in words, what was expected, and its code."""
    return {
        "error": error.sentence,
        "expected": error.data.get("expected", ""),
        "code": error.code,
        **{name: error.data[name] for name in _READINGS if name in error.data},
        "airworthiness": AIRWORTHINESS,
    }
