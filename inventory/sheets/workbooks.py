"""An XLSX file's sheets: their rows as text, and what merged cells hold."""

import io
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from defusedxml.common import DefusedXmlException

from inventory.errors import Refused

MAX_UNPACKED = 50 * 1024 * 1024
MAX_MEMBERS = 200
MAX_RATIO = 100
MAX_ROWS = 20_000
MAX_COLUMNS = 64
# Only a whole workbook says which of its cells are merged, and takes fifty times its
# bytes of memory: what is larger unpacked is read row by row.
MAX_WHOLE = 2 * 1024 * 1024
Line = tuple[int, list[str]]


@dataclass(frozen=True)
class Merged:
    """What a cell that was merged with others above it shows, and the line it stands in."""

    line: int
    text: str


@dataclass(frozen=True)
class Sheet:
    """A sheet's rows with their line numbers; `merged` by line and place in the row."""

    title: str
    lines: Sequence[Line]
    merged: Mapping[tuple[int, int], Merged] = field(default_factory=dict)


def sheets_in(name: str, data: bytes) -> Iterator[Sheet]:
    """The sheets that people see, one by one. Errors: `sheet.bomb`, `sheet.torn`."""
    # Only where it is needed: it takes 30 MB of every process that has it.
    from openpyxl import load_workbook

    is_whole = _unpacked(name, data) <= MAX_WHOLE
    try:
        book = load_workbook(io.BytesIO(data), read_only=not is_whole, data_only=True)
        for sheet in book.worksheets:
            if sheet.sheet_state == "visible":
                lines = list(_lines(sheet))
                merged = _merged(sheet, dict(lines)) if is_whole else {}
                yield Sheet(sheet.title, lines, merged)
    except (
        DefusedXmlException,
        zipfile.BadZipFile,
        KeyError,
        TypeError,
        ValueError,
        IndexError,
        OSError,
        SyntaxError,
    ) as error:
        raise Refused(
            "sheet.torn",
            f"{name} cannot be read as XLSX: open it, save it anew, try again.",
        ) from error


def _lines(sheet: Any) -> Iterator[Line]:
    # A whole sheet would make rows up to the last one asked for.
    ends = (sheet.max_row or MAX_ROWS, sheet.max_column or MAX_COLUMNS)
    rows = sheet.iter_rows(
        max_row=min(ends[0], MAX_ROWS + 2),
        max_col=min(ends[1], MAX_COLUMNS),
        values_only=True,
    )
    for line, cells in enumerate(rows, start=1):
        yield line, [_cell(cell) for cell in cells]


def _merged(
    sheet: Any, lines: Mapping[int, Sequence[str]]
) -> dict[tuple[int, int], Merged]:
    """The cells under the first one of what is merged downward, with what it shows."""
    found = {}
    for cells in sheet.merged_cells.ranges:
        top = lines.get(cells.min_row, ())
        place = cells.min_col - 1
        if place < len(top):
            shows = Merged(cells.min_row, top[place].strip())
            for line in range(cells.min_row + 1, min(cells.max_row, MAX_ROWS) + 1):
                found[line, place] = shows
    return found


def _unpacked(name: str, data: bytes) -> int:
    """Its bytes unpacked, before anything is. Errors: `sheet.bomb`, `sheet.torn`."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as box:
            members = box.infolist()
    except zipfile.BadZipFile as error:
        raise Refused(
            "sheet.torn", f"{name} is a torn XLSX: save it anew and try again."
        ) from error
    unpacked = sum(member.file_size for member in members)
    if (
        len(members) > MAX_MEMBERS
        or unpacked > MAX_UNPACKED
        or unpacked > MAX_RATIO * max(len(data), 1)
    ):
        raise Refused(
            "sheet.bomb",
            f"{name} unpacks to far more than a list of stock needs: save it as CSV.",
            {"unpacked": unpacked},
        )
    return unpacked


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)
