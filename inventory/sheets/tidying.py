"""What stands in a spreadsheet as people keep them, made what a list wants.

Whatever is read otherwise than it stands is a `Note`; what could mean two things stays as
it stands, for the list's own sentence.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

_TOTAL = re.compile(r"(.*\s)?(sub-?)?(total|sum)s?\b.*", re.IGNORECASE)
_FIGURE = re.compile(r"[0-9][0-9.,'\u2019 \u00a0]*( ?(pcs?|pieces))?", re.IGNORECASE)
_GUESS = re.compile(r"(approx\.?|about|circa|ca\.?|c\.|~|≈)\s*(?=[0-9])", re.IGNORECASE)
_PIECES = re.compile(r"\s*(pcs?\.?|pieces?|off|ea\.?|each|days?)", re.IGNORECASE)
_THOUSANDS = re.compile(
    r"[1-9][0-9]{0,2}([ \u00a0\u202f'\u2019.,])[0-9]{3}(?P<more>\1[0-9]{3})*"
)
_DAY = re.compile(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4})")
# A number in a text, and the ways its comma can mean one thing only.
_NUMBER = re.compile(r"[0-9][0-9.,]*[0-9]")
_WITH_COMMA = re.compile(
    r"([0-9]+|[0-9]{1,3}(?:\.[0-9]{3})+),([0-9]{1,2}|[0-9]{4,})"
    r"|[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+"
)
_WITH_POINT = re.compile(
    r"[0-9]+\.([0-9]{1,2}|[0-9]{4,})|[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+"
)


@dataclass(frozen=True)
class Columns:
    """A list's columns: all `names`, and what stands in some of them.

    `whole` numbers, `measures` (numbers with decimals), `lists` of such, `days`; `filled`
    are repeated down to the next that is not empty. `called` gives other names that
    people use.
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
    date (None: nobody knows), and whether it has numbers of its own, as a workbook has.
    """

    decimal_comma: bool | None = None
    day_first: bool | None = None
    has_numbers: bool = False


def has_decimal_comma(separator: str, texts: Iterable[str]) -> bool | None:
    """Whether a comma is a file's decimal sign; None where nothing says so.

    By what parts its cells, and by those numbers in which a comma or a point can be
    nothing else. Where commas part the cells it is not; where semicolons do it is, unless
    the numbers show points alone.
    """
    if separator == ",":
        return False
    numbers = [number for text in texts for number in _NUMBER.findall(text)]
    comma = any(_WITH_COMMA.fullmatch(number) for number in numbers)
    point = any(_WITH_POINT.fullmatch(number) for number in numbers)
    if comma != point:
        return comma
    return True if separator == ";" else None


def tidy(text: str, column: str, columns: Columns, habits: Habits) -> str:
    """One cell as its list reads it; as it stands where it could mean two things."""
    if not text:
        return text
    if column in columns.whole:
        return _whole(text, habits)
    if column in columns.measures:
        return _NUMBER.sub(lambda found: _decimal(found[0], habits), text)
    if column in columns.lists and habits.decimal_comma:
        return re.sub(r"(?<=[0-9]),(?=[0-9])", ".", text)
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


def _whole(text: str, habits: Habits) -> str:
    """A whole number. A point parts its thousands only where the comma is the decimal
    sign, a comma only where it is not, but where there are several.

    A workbook's own 1.125 is no 1125.
    """
    plain = _plain(text)
    found = _THOUSANDS.fullmatch(plain)
    if found:
        is_clear = found["more"] or {
            ".": habits.decimal_comma and not habits.has_numbers,
            ",": not habits.decimal_comma,
        }.get(found[1], True)
        return re.sub(r"[^0-9]", "", plain) if is_clear else text
    found = re.fullmatch(r"([0-9]+)[.,]0{1,2}", plain)
    if found:
        return found[1]
    return plain if re.fullmatch(r"[0-9]+", plain) else text


def _decimal(number: str, habits: Habits) -> str:
    """A number with a point as its decimal sign; as it stands where it could be two."""
    if _WITH_COMMA.fullmatch(number):
        return number.replace(".", "").replace(",", ".")
    if _WITH_POINT.fullmatch(number):
        return number.replace(",", "")
    if habits.decimal_comma is None or not _THOUSANDS.fullmatch(number):
        return number
    if "," in number:
        return number.replace(",", "." if habits.decimal_comma else "")
    return number


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
    """What the empty cells of a row take from `above`, which remembers the row.

    A new stage begins without an assembly: what stands in a column ends what stood in
    those after it.
    """
    fills = {}
    for at, column in enumerate(columns.filled):
        text = cells.get(column, "")
        if text:
            above[column] = text
            for later in columns.filled[at + 1 :]:
                above.pop(later, None)
        elif column in above:
            fills[column] = above[column]
    return fills


def is_total(texts: Sequence[str]) -> bool:
    """Whether a row sums up others: its first text says so, and only figures follow."""
    first, *rest = [text for text in texts if text]
    return bool(_TOTAL.fullmatch(first)) and all(map(_FIGURE.fullmatch, rest))


Match = Callable[[str], str | None]


def matching(
    columns: Columns, given: Mapping[str, str], *, guessing: bool = True
) -> Match:
    """Which column a header's text is: by what a person said, its name, its synonym.

    '' where it is to be left out, None where nobody knows. Without `guessing` a synonym
    says nothing.
    """
    names = {name.lower(): name for name in columns.names}
    called = {_bare(text): name for text, name in columns.called.items() if guessing}
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
