"""The trade's tables: data files read once, every row with its source and mark."""

import csv
from collections.abc import Mapping
from functools import cache
from pathlib import Path

MARKS = ("published", "restated", "computed", "common practice", "from memory")

_DATA = Path(__file__).parent / "data"


@cache
def rows(name: str) -> tuple[Mapping[str, str], ...]:
    """The rows of a table, in the file's order, as text by column."""
    with (_DATA / f"{name}.csv").open(newline="", encoding="utf-8") as file:
        return tuple(csv.DictReader(file))


@cache
def index(name: str, *columns: str) -> Mapping[tuple[str, ...], Mapping[str, str]]:
    """The rows of a table by the values of these columns; the first row wins."""
    found: dict[tuple[str, ...], Mapping[str, str]] = {}
    for row in rows(name):
        found.setdefault(tuple(row[column] for column in columns), row)
    return found


def names() -> tuple[str, ...]:
    """The names of all tables."""
    return tuple(sorted(path.stem for path in _DATA.glob("*.csv")))
