"""A file's bytes become rows of text, or one sentence about what is wrong with it."""

import csv
import io
import re
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from defusedxml.common import DefusedXmlException

from inventory.errors import Refused
from inventory.sheets.tidying import (
    TOTAL,
    Columns,
    Habits,
    Match,
    Note,
    asks_order,
    filled_down,
    has_decimal_comma,
    is_guess,
    matching,
    plain_name,
    tidy,
)
from inventory.sheets.writing import armed

MAX_BYTES = 10 * 1024 * 1024
MAX_UNPACKED = 50 * 1024 * 1024
MAX_MEMBERS = 200
MAX_RATIO = 100
MAX_ROWS = 20_000
MAX_COLUMNS = 64
MAX_CELL = 2_000
# A header stands within so many lines; titles may stand above it.
LOOKED_AT = 20
_UTF16 = (b"\xff\xfe", b"\xfe\xff")
Line = tuple[int, list[str]]


@dataclass(frozen=True)
class Row:
    """One row under its header: the file's line number and its cells by column."""

    line: int
    cells: dict[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")


@dataclass
class Table:
    """A file's rows, and how they were read where that is not as they stand.

    `said` are sentences about its rows and columns: left out, or named otherwise;
    `unknown` the header's texts that nobody matched to a column yet, `asks_order`
    whether a date could be read in two ways.
    """

    rows: list[Row] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    asks_order: bool = False


@dataclass(frozen=True)
class Told:
    """What a person said about a file: which comes first in its dates, and the column
    that a header's text means ('' for none)."""

    day_first: bool | None = None
    columns: Mapping[str, str] = field(default_factory=dict)


NOTHING_TOLD = Told()


def read(name: str, data: bytes, columns: Sequence[str]) -> list[Row]:
    """Rows of a CSV or XLSX file whose header names some of `columns`.

    Errors: as `look`, and `sheet.header` for a column that nobody knows.
    """
    return known(name, look(name, data, Columns(columns)), columns).rows


def how_read(table: Table) -> list[str]:
    """What was left out, and each cell that is read otherwise than it stands."""
    empty = sum(not note.stood for note in table.notes)
    filled = [f"{empty} empty cells take what stands above them."] if empty else []
    return [
        *table.said,
        *filled,
        *(
            f"Line {note.line}, {note.column}: '{note.stood}' is read as {note.read}."
            for note in table.notes
            if note.stood
        ),
    ]


def known(name: str, table: Table, columns: Sequence[str]) -> Table:
    """The table, where all its columns are known. Errors: `sheet.header`."""
    if table.unknown:
        raise Refused(
            "sheet.header",
            f"{name}: there is no column '{table.unknown[0][:40]}'; {_wanted(columns)}",
            {"column": table.unknown[0][:40]},
        )
    return table


def look(name: str, data: bytes, columns: Columns, told: Told = NOTHING_TOLD) -> Table:
    """A CSV or XLSX file as a table of a list.

    Errors: `sheet.size`, `sheet.type`, `sheet.torn`, `sheet.header`, `sheet.quote`.
    """
    if len(data) > MAX_BYTES:
        raise Refused("sheet.size", f"{name} is larger than 10 MB: split it.")
    if not data.strip():
        raise Refused("sheet.empty", f"{name} is empty: nothing was read.")
    if data[:4] == b"PK\x03\x04":
        lines = _xlsx(name, data)
    elif b"\0" in data[:4096] and not data.startswith(_UTF16):
        raise Refused(
            "sheet.type", f"{name} is neither CSV nor XLSX: save it as one of the two."
        )
    else:
        text, separator = _parted(_text(name, data))
        return _under_header(
            name, _csv(name, text, separator), columns, separator, told
        )
    return _under_header(name, lines, columns, ",", told)


def _text(name: str, data: bytes) -> str:
    wide = ("utf-16",) if data.startswith(_UTF16) else ()
    for encoding in (*wide, "utf-8-sig", "cp1252"):
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise Refused("sheet.type", f"{name} is no text file: save it as CSV in UTF-8.")


def _parted(text: str) -> tuple[str, str]:
    """The text, and what parts its cells: as `sep=` says, else what its lines hold most.

    The line that says it is emptied, so that lines keep their numbers.
    """
    first, _, rest = text.partition("\n")
    said = re.fullmatch(r"sep=(.)\s*", first, re.IGNORECASE)
    if said:
        return "\n" + rest, said[1]
    head = text.split("\n", LOOKED_AT)[:LOOKED_AT]
    counts = {sign: max(line.count(sign) for line in head) for sign in "\t;,"}
    if counts["\t"]:
        return text, "\t"
    return text, ";" if counts[";"] > 1 else ","


def _csv(name: str, text: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    """Rows with the line each begins on; a quote left open is an error, not data."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    before = 0
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise Refused(
                "sheet.quote",
                f"{name}, line {before + 1}: a quotation mark is open or astray "
                f"({error}). Mend that line; nothing was imported.",
                {"line": before + 1},
            ) from error
        line, before = before + 1, reader.line_num
        if reader.line_num > line and any("\n" in cell for cell in cells):
            raise Refused(
                "sheet.quote",
                f"{name}, line {line}: a quotation mark opens here and closes on line "
                f"{reader.line_num}. Mend it; nothing was imported.",
                {"line": line},
            )
        yield line, cells


def _xlsx(name: str, data: bytes) -> Iterator[tuple[int, list[str]]]:
    # Only where it is needed: it takes 30 MB of every process that has it.
    from openpyxl import load_workbook

    _refuse_bomb(name, data)
    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        sheet = book.worksheets[0]
        rows = sheet.iter_rows(
            max_row=MAX_ROWS + 2, max_col=MAX_COLUMNS, values_only=True
        )
        for line, cells in enumerate(rows, start=1):
            yield line, [_cell(cell) for cell in cells]
    except (
        DefusedXmlException,
        zipfile.BadZipFile,
        KeyError,
        ValueError,
        IndexError,
        OSError,
        SyntaxError,
    ) as error:
        raise Refused(
            "sheet.torn",
            f"{name} cannot be read as XLSX: open it, save it anew, try again.",
        ) from error


def _refuse_bomb(name: str, data: bytes) -> None:
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


def _under_header(
    name: str, lines: Iterable[Line], columns: Columns, separator: str, told: Told
) -> Table:
    found, match = Table(), matching(columns, told.columns)
    rows = list(_filled(name, lines))
    at = _header_at(rows, match)
    if at is None:
        raise Refused(
            "sheet.header", f"{name} has no header line; {_wanted(columns.names)}"
        )
    if at:
        found.said.append(
            f"{at} line{'s' if at > 1 else ''} above the header: left out."
        )
    header = [match(text) if text else "" for text in rows[at][1]]
    found.unknown = [
        text for text, column in zip(rows[at][1], header, strict=True) if column is None
    ]
    if not any(header) and not told.columns:
        known(name, found, columns.names)
    for text, column in zip(rows[at][1], header, strict=True):
        if text and column is not None and column != plain_name(text):
            read_as = f"is read as '{column}'" if column else "is left out"
            found.said.append(f"The column '{text[:40]}' {read_as}.")
    measures = (
        text
        for _line, texts in rows[at + 1 :]
        for column, text in zip(header, texts, strict=False)
        if column in (*columns.measures, *columns.lists)
    )
    habits = Habits(has_decimal_comma(separator, measures), told.day_first)
    above: dict[str, str] = {}
    for line, texts in rows[at + 1 :]:
        if _is_total(texts):
            found.said.append(
                f"Line {line} is a total, '{' '.join(texts)[:60]}': left out."
            )
            continue
        texts = _bounded(name, line, texts, header)
        pairs = zip(header, texts, strict=False)
        cells = {column: text for column, text in pairs if column}
        fills = filled_down(cells, above, columns)
        found.notes += [Note(line, column, "", text) for column, text in fills.items()]
        cells |= fills
        found.rows.append(Row(line, _tidied(found, line, cells, columns, habits)))
    return found


def _tidied(
    found: Table, line: int, cells: dict[str, str], columns: Columns, habits: Habits
) -> dict[str, str]:
    """Cells as the list reads them; what is not read as it stands is noted."""
    tidied = {}
    for column, text in cells.items():
        tidied[column] = plain = tidy(text, column, columns, habits)
        if column in columns.days and asks_order(text):
            found.asks_order = True
        if plain != text:
            about = ", a guess" if is_guess(text) else ""
            found.notes.append(Note(line, column, text, plain + about))
    return tidied


def _filled(name: str, lines: Iterable[Line]) -> Iterator[Line]:
    """Rows that say something, their cells without what spreadsheets put around."""
    for number, (line, cells) in enumerate(lines):
        if number > MAX_ROWS:
            raise Refused(
                "sheet.size", f"{name} has more than {MAX_ROWS} rows: split it."
            )
        texts = [armed(cell.strip()).strip() for cell in cells]
        remark = bool(texts) and texts[0].startswith("#") and not any(texts[1:])
        if any(texts) and not remark:
            yield line, texts


def _header_at(rows: Sequence[Line], match: Match) -> int | None:
    """The first line that names two columns or more, else the first line of all."""
    for at, (_line, texts) in enumerate(rows[:LOOKED_AT]):
        if sum(bool(text) and bool(match(text)) for text in texts) > 1:
            return at
    return 0 if rows else None


def _is_total(texts: Sequence[str]) -> bool:
    """Whether a row sums up others: its first text says so, and numbers follow."""
    first = next((text for text in texts if text), "")
    return TOTAL.fullmatch(first) is not None and len([t for t in texts if t]) <= 3


def _bounded(
    name: str, line: int, texts: list[str], header: Sequence[object]
) -> list[str]:
    if any(texts[len(header) :]):
        raise Refused(
            "sheet.columns",
            f"{name}, line {line}: it has more cells than the header has columns; "
            "put quotation marks around a text with a comma in it.",
            {"line": line},
        )
    for text in texts:
        if len(text) > MAX_CELL:
            raise Refused(
                "sheet.cell",
                f"{name}, line {line}: a cell is far too long.",
                {"line": line},
            )
    return texts


def _wanted(columns: Sequence[str]) -> str:
    return "the columns are " + ", ".join(columns) + "."
