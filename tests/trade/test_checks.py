"""The check files: what no function here answers is left out by name, not by chance."""

from pathlib import Path

from tests.trade.checks import CHECKS, rows

# Each topic has its rows tested beside its functions.
ANSWERED = {
    "callout",
    "length",
    "drill",
    "holder colour",
    "bolt",
    "min flush sheet",
    "driven head min",
    "count",
    "rivets per inch",
    "diameter",
    "layout",
    "sealant",
}
# How work is done, without a size that a function could give.
PRACTICE_PROSE = {
    "numbered drill for a rivet",
    "hand squeezer",
    "rivet gauge",
    "edge finish after filing",
    "deburr every hole, both faces",
    "steel rule accuracy",
}
# Tested in test_holes and test_flush.
PRACTICE_FLUSH = {
    "countersink cutter pilot for a 3/32 rivet",
    "dimple die sizes a shop keeps",
    "flush fastener in sheet over 0.040 in",
    "flush fastener in sheet under 0.040 in",
}


def test_first_checks_are_answered_or_named():
    assert {row["topic"] for row in rows("first_checks")} == ANSWERED


def test_common_practice_is_answered_or_named():
    left = {
        row["fact"]
        for row in rows("common_practice")
        if row["topic"] not in {"drill", "temporary fastener"}
    }
    assert left | {"numbered drill for a rivet"} == PRACTICE_PROSE | PRACTICE_FLUSH


def test_every_check_file_is_here_and_read():
    """A check file that no test module names would be a check that cannot fail."""
    tests = "".join(
        path.read_text() for path in Path(__file__).parent.glob("test_*.py")
    )
    names = {path.stem for path in (CHECKS / "trade").glob("*.csv")}
    assert names
    assert {name for name in names if f'"{name}"' not in tests} == set()
