"""Reading a person's CSV or XLSX file: bounded, and every odd row with its line."""

from inventory.sheets.reading import Row, read
from inventory.sheets.writing import csv_text, xlsx_bytes

__all__ = ["Row", "csv_text", "read", "xlsx_bytes"]
