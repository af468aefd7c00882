"""Reading one cell: a name, a whole number, a day; else a sentence for the builder."""

import calendar
import re
from datetime import date, datetime

from inventory.errors import Refused
from inventory.sheets.reading import Row

MAX_WHOLE = 100_000


def name(row: Row, column: str) -> str:
    """A name of 1 to 80 characters on one line. Errors: `sheet.cell`."""
    text = " ".join(row[column].split())
    if not text:
        raise Refused("sheet.cell", f"The {column} is missing: name it.")
    if len(text) > 80:
        raise Refused(
            "sheet.cell", f"The {column}'s name is longer than 80 characters."
        )
    return text


def whole(
    row: Row,
    column: str,
    *,
    default: int | None = None,
    least: int = 0,
    most: int = MAX_WHOLE,
) -> int:
    """A whole number in a range. Errors: `sheet.cell`."""
    text = row[column].strip()
    if not text and default is not None:
        return default
    label = column.replace("_", " ")
    if not text:
        raise Refused("sheet.cell", f"'{label}' is missing: write a whole number.")
    if not re.fullmatch(r"[0-9]{1,9}", text) or not least <= int(text) <= most:
        raise Refused(
            "sheet.cell",
            f"'{label}' is '{text[:20]}': write a whole number from {least} to {most}.",
        )
    return int(text)


def day(row: Row, column: str) -> date | None:
    """An ISO date, or None where it is left to the pace. Errors: `sheet.cell`."""
    text = row[column].strip()
    if not text or text.lower() == "pace":
        return None
    try:
        found = datetime.strptime(text, "%Y-%m-%d").date()  # noqa: DTZ007 - a day only
    except ValueError:
        found = None
    if found is None or not 1950 <= found.year <= 2150:
        raise Refused(
            "sheet.cell",
            f"'{column}' is '{text[:20]}': write it as 2027-03-31, or leave it empty "
            "for the pace to decide.",
        )
    return found


def optional(
    row: Row, column: str, *, least: int = 0, most: int = MAX_WHOLE
) -> int | None:
    """A whole number, or None for an empty cell. Errors: `sheet.cell`."""
    if not row[column].strip():
        return None
    return whole(row, column, least=least, most=most)


def last_day(row: Row, column: str) -> date | None:
    """A day, or a month (2027-05, 05/2027), which means its last day (from memory).

    Errors: `sheet.cell`.
    """
    text = row[column].strip()
    found = re.fullmatch(r"([0-9]{4})-([0-9]{1,2})|([0-9]{1,2})/([0-9]{4})", text)
    if not found:
        return day(row, column)
    year = int(found[1] or found[4])
    month = int(found[2] or found[3])
    if not 1 <= month <= 12 or not 1950 <= year <= 2150:
        raise Refused("sheet.cell", f"'{column}' is '{text}': there is no such month.")
    return date(year, month, calendar.monthrange(year, month)[1])
