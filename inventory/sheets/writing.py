"""Writing a CSV or XLSX that a spreadsheet opens as text and never as a formula."""

import csv
import io
import re
from collections.abc import Iterable, Sequence

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
# What no XLSX may hold: characters that nobody sees.
_UNSEEN = re.compile(r"[\x00-\x08\x0b-\x1f\ufffe\uffff]")


def csv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """CSV text; a cell that a spreadsheet would compute gets a quote in front."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    for row in rows:
        writer.writerow([disarmed(cell) for cell in row])
    return out.getvalue()


def xlsx_bytes(header: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """The same as XLSX; its text cells are text, whatever they begin with."""
    # Only where it is needed: it takes 30 MB of every process that has it.
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet("plan")
    sheet.append(list(header))
    for row in rows:
        cells = [disarmed(cell) for cell in row]
        sheet.append(
            [_UNSEEN.sub("", cell) if isinstance(cell, str) else cell for cell in cells]
        )
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


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
