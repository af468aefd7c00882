"""The published checks as test cases: each row named with its mark and source."""

import csv
from fractions import Fraction
from pathlib import Path

import pytest

CHECKS = Path(__file__).parent.parent / "checks"


def rows(name):
    """The rows of a check file, as text by column."""
    with (CHECKS / "trade" / f"{name}.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def mark(certainty):
    """A check file's certainty as the project writes it (from memory, restated ...)."""
    low = certainty.lower()
    if "from memory" in low:
        return "from_memory"
    if "computed" in low:
        return "computed"
    if "common practice" in low:
        return "common_practice"
    return "restated" if "secondary" in low else "published"


def cases(found, *columns):
    """One pytest case per row; its id ends in its mark and source."""
    return [
        pytest.param(
            row,
            id=f"{' '.join(row[name] for name in columns)} "
            f"[{mark(row['certainty'])}; {row['source'][:48]}]",
        )
        for row in found
    ]


def inches(text):
    """'3.5/16 = 0.21875', '1/8', '4/8+1/32', '.063 thick' as exact inches."""
    words = text.split("=")[0].replace("+", " ").split()
    return sum(
        (_number(word) for word in words if word[0] in ".0123456789"), Fraction(0)
    )


def _number(word):
    over, _, under = word.partition("/")
    return Fraction(over) / Fraction(under or "1")
