"""Reading a person's CSV or XLSX file: bounded, and every odd row with its line."""

from inventory.sheets.reading import (
    NOTHING_TOLD,
    Row,
    Table,
    Told,
    how_read,
    known,
    look,
    read,
)
from inventory.sheets.tidying import Columns, Note
from inventory.sheets.writing import csv_lines, csv_text, write_xlsx, xlsx_bytes

__all__ = [
    "NOTHING_TOLD",
    "Columns",
    "Note",
    "Row",
    "Table",
    "Told",
    "csv_lines",
    "csv_text",
    "how_read",
    "known",
    "look",
    "read",
    "write_xlsx",
    "xlsx_bytes",
]
