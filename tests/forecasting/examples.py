"""The worked examples of tests/checks/maths: by id, with their citation and mark."""

import json
from pathlib import Path

import pytest

FOLDER = Path(__file__).parent.parent / "checks" / "maths"
EVERY = {
    row["id"]: row
    for row in json.loads((FOLDER / "examples.json").read_text(encoding="utf-8"))
}


def cases(*names):
    """Parameters whose test id carries citation and confidence."""
    return [
        pytest.param(
            EVERY[name],
            id=f"{name} | {EVERY[name]['citation']} | {EVERY[name]['confidence']}",
        )
        for name in names
    ]


def printed(value, figure):
    """The value rounded to as many decimals as the published figure shows."""
    decimals = len(repr(figure).partition(".")[2])
    return round(value, decimals)
