"""A file's bytes become rows of text, or one sentence about what is wrong with it."""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby

from inventory.errors import Refused
from inventory.sheets.tidying import (
    Columns,
    Habits,
    Match,
    Note,
    asks_order,
    filled_down,
    has_decimal_comma,
    is_guess,
    is_total,
    matching,
    plain_name,
    tidy,
)
from inventory.sheets.workbooks import MAX_ROWS, Line, Sheet, sheets_in
from inventory.sheets.writing import armed

MAX_BYTES = 10 * 1024 * 1024
MAX_CELL = 2_000
# A header stands within so many lines; titles may stand above it.
LOOKED_AT = 20
_UTF16 = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True)
class Row:
    """One row under its header: the file's line number and its cells by column.

    `guesses` are the columns whose number is only about right.
    """

    line: int
    cells: dict[str, str]
    guesses: frozenset[str] = frozenset()

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")


@dataclass
class Table:
    """A file's rows, and how they were read where that is not as they stand.

    `header` are the texts of its header, `said` sentences about its rows and columns:
    left out, or named otherwise;
    `unknown` the header's texts that nobody matched to a column yet, `asks_order`
    whether a date could be read in two ways.
    """

    rows: list[Row] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    header: list[str] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    asks_order: bool = False


@dataclass(frozen=True)
class Told:
    """What a person said about a file: which comes first in its dates, and the column
    that a header's text means ('' for none); not `guessing`, every other name is asked.
    """

    day_first: bool | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    guessing: bool = True


NOTHING_TOLD = Told()


def read(name: str, data: bytes, columns: Sequence[str]) -> list[Row]:
    """Rows of a CSV or XLSX file whose header names some of `columns`.

    Errors: as `look`, and `sheet.header` for a column that nobody knows.
    """
    return known(name, look(name, data, Columns(columns)), columns).rows


def how_read(table: Table) -> list[str]:
    """What was left out, and each cell that is read otherwise than it stands."""
    filled = [note for note in table.notes if not note.stood]
    filled.sort(key=lambda note: (note.column, note.line))
    return [
        *table.said,
        *(
            f"Line{'s' if ',' in lines else ''} {lines}, {column}: empty, taken from "
            f"above: '{text}'."
            for (column, text), notes in groupby(
                filled, key=lambda note: (note.column, note.read)
            )
            for lines in [", ".join(str(note.line) for note in notes)]
        ),
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

    Errors: `sheet.size`, `sheet.type`, `sheet.torn`, `sheet.bomb`, `sheet.header`,
    `sheet.quote`.
    """
    if len(data) > MAX_BYTES:
        raise Refused("sheet.size", f"{name} is larger than 10 MB: split it.")
    if not data.strip():
        raise Refused("sheet.empty", f"{name} is empty: nothing was read.")
    match = matching(columns, told.columns, guessing=told.guessing)
    if data[:4] == b"PK\x03\x04":
        sheet, others = _sheet_meant(name, list(sheets_in(name, data)), match)
        table = _under_header(name, sheet, columns, "", told)
        if others:
            table.said.insert(0, f"Read is the sheet '{sheet.title}', not: {others}.")
        return table
    if b"\0" in data[:4096] and not data.startswith(_UTF16):
        raise Refused(
            "sheet.type", f"{name} is neither CSV nor XLSX: save it as one of the two."
        )
    text, separator = _parted(_text(name, data))
    lines = list(_csv(name, text, separator))
    return _under_header(name, Sheet(name, lines), columns, separator, told)


def _sheet_meant(name: str, sheets: Sequence[Sheet], match: Match) -> tuple[Sheet, str]:
    """The first sheet with a header that names columns, and the titles of the others."""
    written = [sheet for sheet in sheets if any(any(cells) for _, cells in sheet.lines)]
    if not written:
        raise Refused("sheet.empty", f"{name} is empty: nothing was read.")
    fits = [sheet for sheet in written if _header_at(sheet.lines, match) is not None]
    meant = (fits or written)[0]
    others = [f"'{sheet.title}'" for sheet in written if sheet is not meant]
    return meant, ", ".join(others)


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


def _under_header(
    name: str, sheet: Sheet, columns: Columns, separator: str, told: Told
) -> Table:
    """The rows under the header; `separator` parts the cells, '' for a workbook."""
    rows = list(_filled(name, sheet.lines))
    if not rows:
        raise Refused(
            "sheet.header", f"{name} has no header line; {_wanted(columns.names)}"
        )
    found = Table()
    match = matching(columns, told.columns, guessing=told.guessing)
    at = _header_at(rows, match) or 0
    if at:
        found.said.append(
            f"{at} line{'s' if at > 1 else ''} above the header: left out."
        )
    header = _header(found, rows[at][1], match)
    if not any(header) and not told.columns:
        known(name, found, columns.names)
    under = rows[at + 1 :]
    # Where semicolons part the cells a comma in a list of lengths is a decimal sign too.
    telling = {*columns.measures, *(columns.lists if separator == ";" else ())}
    texts = (text for row in under for text in _in_columns(header, row[1], telling))
    habits = Habits(
        has_decimal_comma(separator, texts), told.day_first, has_numbers=not separator
    )
    above: dict[str, str] = {}
    for line, cells in _cells(name, found, under, header):
        fills = _of_merged(line, cells, header, sheet, columns)
        fills |= filled_down({**cells, **fills}, above, columns)
        found.notes += [Note(line, column, "", text) for column, text in fills.items()]
        found.rows.append(_row(found, line, {**cells, **fills}, columns, habits))
    return found


def _header(found: Table, texts: Sequence[str], match: Match) -> list[str]:
    """The column of each of the header's texts; '' for none.

    What nobody knows is asked about, and two that would be one column.
    """
    found.header = [text for text in texts if text]
    header = [match(text) if text else "" for text in texts]
    twice = {column for column in header if column and header.count(column) > 1}
    found.unknown = [
        text
        for text, column in zip(texts, header, strict=True)
        if column is None or column in twice
    ]
    for text, column in zip(texts, header, strict=True):
        if text and column is not None and column != plain_name(text):
            read_as = f"is read as '{column}'" if column else "is left out"
            found.said.append(f"The column '{text[:40]}' {read_as}.")
    found.said += [f"Two columns would be '{column}'." for column in sorted(twice)]
    return ["" if column is None or column in twice else column for column in header]


def _in_columns(
    header: Sequence[str], texts: Sequence[str], columns: set[str]
) -> list[str]:
    return [
        text for column, text in zip(header, texts, strict=False) if column in columns
    ]


def _cells(
    name: str, found: Table, rows: Iterable[Line], header: Sequence[str]
) -> Iterator[tuple[int, dict[str, str]]]:
    """Each row by its columns; totals are left out, with a word."""
    for line, texts in rows:
        if is_total(texts):
            found.said.append(
                f"Line {line} is a total, '{' '.join(filter(None, texts))[:60]}': "
                "left out."
            )
            continue
        pairs = zip(header, _bounded(name, line, texts, header), strict=False)
        yield line, {column: text for column, text in pairs if column}


def _of_merged(
    line: int,
    cells: Mapping[str, str],
    header: Sequence[str],
    sheet: Sheet,
    columns: Columns,
) -> dict[str, str]:
    """What empty cells show because they are merged with one above.

    A number is not counted twice: its list is to say that no number stands there.
    """
    numbers = {*columns.whole, *columns.measures, *columns.lists}
    found = {}
    for place, column in enumerate(header):
        shows = sheet.merged.get((line, place))
        if shows is not None and column and not cells.get(column):
            is_number = column in numbers
            found[column] = f"as line {shows.line}" if is_number else shows.text
    return found


def _row(
    found: Table, line: int, cells: dict[str, str], columns: Columns, habits: Habits
) -> Row:
    """A row as the list reads it; what is not read as it stands is noted."""
    tidied, guesses = {}, set()
    for column, text in cells.items():
        tidied[column] = plain = tidy(text, column, columns, habits)
        if column in columns.days and asks_order(text):
            found.asks_order = True
        if plain != text:
            if is_guess(text):
                guesses.add(column)
            about = ", a guess" if column in guesses else ""
            found.notes.append(Note(line, column, text, plain + about))
    return Row(line, tidied, frozenset(guesses))


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
    """The first of the lines that names two columns or more, if one does."""
    for at, (_line, texts) in enumerate(rows[:LOOKED_AT]):
        if sum(bool(text) and bool(match(text)) for text in texts) > 1:
            return at
    return None


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
