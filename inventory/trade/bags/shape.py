"""What every kind of bag code comes down to: fields, what they mean, what is wrong."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

Field = tuple[str, str]

GS, RS, EOT = "\x1d", "\x1e", "\x04"


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """What a bag's code says of the bag; empty where it says nothing.

    `parts` are the numbers that may name the item, best first. `quantity` counts units
    of `unit` (two letters of the X12 list), or of the item's own where that is empty;
    `grams` is a net mass.
    """

    parts: tuple[str, ...] = ()
    quantity: int | None = None
    unit: str = ""
    grams: float | None = None
    lot: str = ""
    serial: str = ""
    order: str = ""
    expires: date | None = None
    supplier: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Marking:
    """One code taken apart.

    `kind` is 'gs1', 'iso15434' or 'text element'; `format` the envelope's own
    indicator. `faults` name what the printer or the scanner got wrong and what was made
    of it; `whole` is False where the end may be missing.
    """

    kind: str
    fields: tuple[Field, ...]
    format: str = ""
    identifier: str = ""
    contents: Contents = field(default_factory=Contents)
    faults: tuple[str, ...] = ()
    whole: bool = True


def first_of(fields: Iterable[Field], *names: str) -> str:
    """The value of the first of these names that is there, in the names' order."""
    found = {name: value for name, value in reversed(list(fields)) if value}
    return next((found[name] for name in names if name in found), "")


def whole_number(text: str) -> int | None:
    """A quantity as it is printed, '50' or '50.00'; None for anything else."""
    head, _point, tail = text.strip().partition(".")
    plain = head.isascii() and head.isdigit() and len(head) <= 9
    return int(head) if plain and not tail.strip("0") else None


def six_digit_day(text: str) -> date | None:
    """YYMMDD as a day of this century; day 00 is the month's last. None if neither."""
    return _day(f"20{text}") if len(text) == 6 else None


def eight_digit_day(text: str) -> date | None:
    """YYYYMMDD as a day; day 00 is the month's last. None for anything else."""
    return _day(text) if len(text) == 8 else None


def _day(text: str) -> date | None:
    if not (text.isascii() and text.isdigit()):
        return None
    year, month, day = int(text[:4]), int(text[4:6]), int(text[6:])
    try:
        if day:
            return date(year, month, day)
        following = date(year + month // 12, month % 12 + 1, 1)
    except ValueError:
        return None
    return date.fromordinal(following.toordinal() - 1)
