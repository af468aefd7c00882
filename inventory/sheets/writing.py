"""Writing a CSV or XLSX that a spreadsheet opens as text and never as a formula."""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import IO

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
# A sheet has 2^20 rows, the header among them: common practice, no source.
MOST_ROWS = (1 << 20) - 1
# What no XLSX may hold: characters that nobody sees.
_UNSEEN = re.compile(r"[\x00-\x08\x0b-\x1f\ufffe\uffff]")


def csv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """CSV text; a cell that a spreadsheet would compute gets a quote in front."""
    return "".join(csv_lines(header, rows))


def csv_lines(header: Sequence[str], rows: Iterable[Sequence[object]]) -> Iterator[str]:
    """The same line by line, read as it is asked for."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    for row in rows:
        writer.writerow([disarmed(cell) for cell in row])
        yield out.getvalue()
        out.seek(0)
        out.truncate()
    yield out.getvalue()


def xlsx_bytes(header: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """The same as XLSX; its text cells are text, whatever they begin with."""
    out = io.BytesIO()
    write_xlsx(out, "plan", header, rows)
    return out.getvalue()


def write_xlsx(
    out: IO[bytes], title: str, header: Sequence[str], rows: Iterable[Sequence[object]]
) -> None:
    """The same into an open file; a sheet takes MOST_ROWS, what follows has another."""
    # Only where it is needed: it takes 30 MB of every process that has it.
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet(title)
    sheet.append(list(header))
    for at, row in enumerate(rows, 1):
        sheet.append([_seen(disarmed(cell)) for cell in row])
        if at % MOST_ROWS == 0:
            sheet = book.create_sheet(title)
            sheet.append(list(header))
    book.save(out)


def _seen(cell: object) -> object:
    return _UNSEEN.sub("", cell) if isinstance(cell, str) else cell


def disarmed(cell: object) -> object:
    """A cell that a spreadsheet takes for text; `armed` undoes it."""
    if isinstance(cell, str) and _computed(cell.lstrip("'")):
        return "'" + cell
    return cell


def armed(text: str) -> str:
    """What a cell said before it was disarmed."""
    if text.startswith("'") and _computed(text.lstrip("'")):
        return text[1:]
    return text


def _computed(text: str) -> bool:
    return text.lstrip(" \u00a0").startswith(FORMULA_STARTS)
