"""The check files: what no function here answers is left out by name, not by chance."""

from tests.trade.checks import rows

# Seams, driven heads, countersinks and sealants belong to other rooms.
OTHER_ROOMS = {
    "min flush sheet",
    "driven head min",
    "count",
    "rivets per inch",
    "diameter",
    "layout",
    "sealant",
}
ANSWERED = {"callout", "length", "drill", "holder colour", "bolt"}
# How work is done, without a size that a function could give.
PRACTICE_PROSE = {
    "numbered drill for a rivet",
    "hand squeezer",
    "rivet gauge",
    "edge finish after filing",
    "deburr every hole, both faces",
    "dimple die sizes a shop keeps",
    "flush fastener in sheet over 0.040 in",
    "flush fastener in sheet under 0.040 in",
    "steel rule accuracy",
}
PRACTICE_PILOT = "countersink cutter pilot for a 3/32 rivet"


def test_first_checks_are_answered_or_named():
    assert {row["topic"] for row in rows("first_checks")} == ANSWERED | OTHER_ROOMS


def test_common_practice_is_answered_or_named():
    left = {
        row["fact"]
        for row in rows("common_practice")
        if row["topic"] not in {"drill", "temporary fastener"}
    }
    assert left | {"numbered drill for a rivet"} == PRACTICE_PROSE | {PRACTICE_PILOT}
