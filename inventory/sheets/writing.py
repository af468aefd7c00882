"""Writing a CSV that a spreadsheet opens as text and never as a formula."""

import csv
import io
from collections.abc import Iterable, Sequence

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def csv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """CSV text; a cell that a spreadsheet would compute gets a quote in front."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    for row in rows:
        writer.writerow([_safe(cell) for cell in row])
    return out.getvalue()


def _safe(cell: object) -> object:
    if isinstance(cell, str) and cell.lstrip(" \u00a0").startswith(FORMULA_STARTS):
        return "'" + cell
    return cell
