"""How certain each figure of the trade's tables is: guarded row by row.

`tests/checks/trade_marks.csv` says of every row of every table how it is known; a mark
changes in both or not at all. 'Published' means that the document was read: such a row's
source must be one that the check files carry as read.
"""

import csv
import re

import pytest

from inventory.trade import tables
from tests.trade.checks import CHECKS, mark, rows

MARKED = {"limit_certainty": "limit_source", "density_certainty": "source"}
# Shorter pieces of a source name no document.
NAMES_A_DOCUMENT = 9


def marked():
    """(table, what the row says, column, mark) of every mark in the tables."""
    for name in tables.names():
        for row in tables.rows(name):
            columns = [column for column in row if column.endswith("certainty")]
            said = "|".join(
                text
                for column, text in row.items()
                if column not in columns and not column.endswith("source")
            )
            for column in columns:
                yield name, said, column, row[column]


def test_every_mark_is_the_recorded_one():
    with (CHECKS / "trade_marks.csv").open(newline="", encoding="utf-8") as file:
        recorded = sorted(map(tuple, list(csv.reader(file))[1:]))
    assert recorded == sorted(marked())
    assert len(recorded) > 600


READ = " ".join(
    row["source"].lower()
    for path in (CHECKS / "trade").glob("*.csv")
    for row in rows(path.stem)
    if mark(row["certainty"]) == "published"
)


def is_read(source):
    """Whether a check file carries the document as read, by how its name begins."""
    parts = [part.strip().lower()[:18] for part in re.split("[;,]", source)]
    return any(len(part) >= NAMES_A_DOCUMENT and part in READ for part in parts)


@pytest.mark.parametrize("name", tables.names())
def test_what_is_published_was_read(name):
    unread = [
        row[MARKED.get(column, "source")]
        for row in tables.rows(name)
        for column in row
        if column.endswith("certainty") and row[column] == "published"
        if not is_read(row[MARKED.get(column, "source")])
    ]
    assert unread == []


# How the documents that are restated are called.
DESIGNATION = re.compile(
    r"AC 43|FAA-H|MIL-|TM 1|ANSI|ASME|Specification|AMS-|\b(?:AN|MS|NAS|NASM) ?\d"
)


@pytest.mark.parametrize("name", tables.names())
def test_what_is_restated_is_of_a_document_that_can_be_looked_up(name):
    unknown = [
        row[MARKED.get(column, "source")]
        for row in tables.rows(name)
        for column in row
        if column.endswith("certainty") and row[column] == "restated"
        if not DESIGNATION.search(row[MARKED.get(column, "source")])
    ]
    assert unknown == []
