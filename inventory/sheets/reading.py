"""A file's bytes become rows of text, or one sentence about what is wrong with it."""

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from defusedxml.common import DefusedXmlException

from inventory.errors import Refused
from inventory.sheets.writing import armed

MAX_BYTES = 10 * 1024 * 1024
MAX_UNPACKED = 50 * 1024 * 1024
MAX_MEMBERS = 200
MAX_RATIO = 100
MAX_ROWS = 20_000
MAX_COLUMNS = 64
MAX_CELL = 2_000


@dataclass(frozen=True)
class Row:
    """One row under its header: the file's line number and its cells by column."""

    line: int
    cells: dict[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")


def read(name: str, data: bytes, columns: Sequence[str]) -> list[Row]:
    """Rows of a CSV or XLSX file whose header names some of `columns`.

    Errors: `sheet.size`, `sheet.type`, `sheet.torn`, `sheet.header`, `sheet.quote`.
    """
    if len(data) > MAX_BYTES:
        raise Refused("sheet.size", f"{name} is larger than 10 MB: split it.")
    if not data.strip():
        raise Refused("sheet.empty", f"{name} is empty: nothing was read.")
    if data[:4] == b"PK\x03\x04":
        lines = _xlsx(name, data)
    elif b"\0" in data[:4096]:
        raise Refused(
            "sheet.type", f"{name} is neither CSV nor XLSX: save it as one of the two."
        )
    else:
        lines = _csv(name, _text(name, data))
    return list(_under_header(name, lines, columns))


def _text(name: str, data: bytes) -> str:
    for encoding in ("utf-8-sig", "cp1252"):
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise Refused("sheet.type", f"{name} is no text file: save it as CSV in UTF-8.")


def _csv(name: str, text: str) -> Iterator[tuple[int, list[str]]]:
    """Rows with the line each begins on; a quote left open is an error, not data."""
    separator = ";" if text.split("\n", 1)[0].count(";") > 1 else ","
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
    name: str, lines: Iterable[tuple[int, list[str]]], columns: Sequence[str]
) -> Iterator[Row]:
    header: list[str] = []
    for number, (line, cells) in enumerate(lines):
        if number > MAX_ROWS:
            raise Refused(
                "sheet.size", f"{name} has more than {MAX_ROWS} rows: split it."
            )
        texts = [armed(cell.strip()).strip() for cell in cells]
        remark = bool(texts) and texts[0].startswith("#") and not any(texts[1:])
        if remark or not any(texts):
            continue
        if not header:
            header = _header(name, texts, columns)
            continue
        yield Row(
            line, dict(zip(header, _bounded(name, line, texts, header), strict=False))
        )
    if not header:
        raise Refused("sheet.header", f"{name} has no header line; {_wanted(columns)}")


def _bounded(name: str, line: int, texts: list[str], header: list[str]) -> list[str]:
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


def _header(name: str, texts: list[str], columns: Sequence[str]) -> list[str]:
    names = [text.lower().replace(" ", "_").lstrip("\ufeff") for text in texts]
    unknown = [text for text in names if text and text not in columns]
    if unknown:
        raise Refused(
            "sheet.header",
            f"{name}: there is no column '{unknown[0][:40]}'; {_wanted(columns)}",
            {"column": unknown[0][:40]},
        )
    return names


def _wanted(columns: Sequence[str]) -> str:
    return "the columns are " + ", ".join(columns) + "."
