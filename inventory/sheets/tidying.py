"""What stands in a spreadsheet as people keep them, made what a list wants.

Whatever is read otherwise than it stands is a `Note`; what could mean two things stays as
it stands, for the list's own sentence.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

TOTAL = re.compile(r"(grand |sub-?)?(total|sum)s?\b.*", re.IGNORECASE)
_GUESS = re.compile(r"(approx\.?|about|circa|ca\.?|c\.|~|≈)\s*(?=[0-9])", re.IGNORECASE)
_PIECES = re.compile(r"\s*(pcs?\.?|pieces?|off|ea\.?|each|days?)", re.IGNORECASE)
_THOUSANDS = re.compile(
    r"[0-9]{1,3}(?:([ \u00a0\u202f'\u2019.,])[0-9]{3})(?:\1[0-9]{3})*"
)
_DAY = re.compile(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4})")
# A comma between digits that no three digits follow: a decimal comma.
_DECIMAL = re.compile(r"(?<=[0-9]),(?=[0-9])")


@dataclass(frozen=True)
class Columns:
    """A list's columns: all `names`, and what stands in some of them.

    `whole` numbers, `measures` (numbers with decimals), `lists` of such (10,12.5 where
    the comma is no decimal sign), `days`; `filled` are repeated
    down to the next that is not empty. `called` gives other names that people use.
    """

    names: Sequence[str]
    whole: Sequence[str] = ()
    measures: Sequence[str] = ()
    lists: Sequence[str] = ()
    days: Sequence[str] = ()
    filled: Sequence[str] = ()
    called: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Note:
    """A cell that is read otherwise than it stands; `stood` is empty where it was."""

    line: int
    column: str
    stood: str
    read: str


@dataclass(frozen=True)
class Habits:
    """How a file writes: whether a comma is its decimal sign, which comes first in a
    date (None: nobody said)."""

    decimal_comma: bool = False
    day_first: bool | None = None


_WITH_POINT = re.compile(r"[0-9]\.(?:[0-9]{1,2}|[0-9]{4,})(?![0-9])|,[0-9]{3}\.")
_WITH_COMMA = re.compile(r"[0-9],(?:[0-9]{1,2}|[0-9]{4,})(?![0-9])|\.[0-9]{3},")


def has_decimal_comma(separator: str, measures: Iterable[str]) -> bool:
    """Whether a comma is a file's decimal sign, by what parts its cells and its numbers.

    Where commas part the cells it never is; between tabs where the numbers show one;
    between semicolons too, and where they show no point. A file that shows both has it:
    what does not fit is refused, and never read as two numbers.
    """
    if separator == ",":
        return False
    texts = list(measures)
    point = any(_WITH_POINT.search(text) for text in texts)
    comma = any(_WITH_COMMA.search(text) for text in texts)
    return comma or (separator == ";" and not point)


def tidy(text: str, column: str, columns: Columns, habits: Habits) -> str:
    """One cell as its list reads it; as it stands where it could mean two things."""
    if not text:
        return text
    if column in columns.whole:
        return _whole(text)
    if column in columns.measures:
        return _measure(text, habits)
    if column in columns.lists:
        return _measure(text, habits) if habits.decimal_comma else text
    if column in columns.days:
        return _day(text, habits)
    return text


def is_guess(text: str) -> bool:
    """Whether a number is only about right: 'approx 120'."""
    return _GUESS.match(text) is not None


def asks_order(text: str) -> bool:
    """Whether a date could be two: '02/03/2027', but not '02.03.2027'."""
    found = _DAY.fullmatch(text)
    if found is None or found[2] == ".":
        return False
    first, second = int(found[1]), int(found[3])
    return first <= 12 and second <= 12 and first != second


def _plain(text: str) -> str:
    text = _GUESS.sub("", text.strip(), count=1)
    found = re.search(r"[0-9]", text)
    return _PIECES.sub("", text, count=1).strip() if found else text


def _whole(text: str) -> str:
    """A whole number: '1.250' and '1,250' are 1250, for pieces have no decimals."""
    plain = _plain(text)
    if _THOUSANDS.fullmatch(plain):
        return re.sub(r"[^0-9]", "", plain)
    found = re.fullmatch(r"([0-9]+)[.,]0+", plain)
    if found:
        return found[1]
    return plain if re.fullmatch(r"[0-9]+", plain) else text


def _measure(text: str, habits: Habits) -> str:
    """A number with decimals; the comma is their sign where the file's is."""
    if habits.decimal_comma:
        return _DECIMAL.sub(".", re.sub(r"(?<=[0-9])\.(?=[0-9]{3}[.,])", "", text))
    return re.sub(r"(?<=[0-9]),(?=[0-9]{3}(?:\.|$))", "", text)


def _day(text: str, habits: Habits) -> str:
    found = _DAY.fullmatch(text)
    if found is None:
        return text
    first, second, year = int(found[1]), int(found[3]), int(found[4])
    if asks_order(text) and habits.day_first is None:
        return text
    is_day_first = found[2] == "." or first > 12 or (habits.day_first and second <= 12)
    day, month = (first, second) if is_day_first else (second, first)
    try:
        return date(year, month, day).isoformat()
    except ValueError:
        return text


def filled_down(
    cells: dict[str, str], above: dict[str, str], columns: Columns
) -> Mapping[str, str]:
    """What the cells of a row that others fill are, where they are empty.

    Only under a row of the same kind: one that asks for something itself.
    """
    fills = {}
    for column in columns.filled:
        text = cells.get(column, "")
        if text:
            above[column] = text
            for later in columns.filled[columns.filled.index(column) + 1 :]:
                if not cells.get(later):
                    above.pop(later, None)
        elif column in above:
            fills[column] = above[column]
    return fills


Match = Callable[[str], str | None]


def matching(columns: Columns, given: Mapping[str, str]) -> Match:
    """Which column a header's text is: by what a person said, its name, its synonym.

    '' where it is to be left out, None where nobody knows.
    """
    names = {name.lower(): name for name in columns.names}
    called = {_bare(text): name for text, name in columns.called.items()}
    said = {_bare(text): name for text, name in given.items()}

    def match(text: str) -> str | None:
        if _bare(text) in said:
            return said[_bare(text)]
        return names.get(plain_name(text)) or called.get(_bare(text))

    return match


def plain_name(text: str) -> str:
    """A header's text as columns are named: 'Hole size' is hole_size."""
    return text.lower().replace(" ", "_").lstrip("\ufeff")


def _bare(text: str) -> str:
    return re.sub(r"[^a-z0-9#]+", " ", text.lower()).strip()
