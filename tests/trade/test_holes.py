"""Holes: what each source says of a fastener's hole, and the order of the sources."""

import re
from fractions import Fraction

import pytest

from inventory.errors import Refused
from inventory.trade import drills, flush, hardware, holes, tables
from inventory.trade.callouts import parse
from inventory.trade.cautions import AIRWORTHINESS
from inventory.trade.drills import drill
from inventory.trade.holes import hole_for, hole_for_rivet
from tests.trade.checks import cases, rows

HOLES = rows("rivet_holes")
STEP_UP = "over 3/16"
SOURCES = {
    "1940s": "fighter",
    "MIL-R": "specification",
    "MIL-H": "design",
    "FAA-H": "handbook",
    "TM 10": "manual",
}


@pytest.mark.parametrize(
    "row", cases([r for r in HOLES if r["rivet"] != STEP_UP], "rivet", "final drill")
)
def test_hole_for_rivet_under_its_own_source(row):
    size, _, blind = row["rivet"].partition(" ")
    kind = f"{blind} rivet".strip()
    hole = hole_for(f"{size} {kind}", source=SOURCES[row["source"][:5]])
    assert hole.drill.name == row["final drill"]
    if row["final_in"]:
        assert hole.diameter_in == Fraction(row["final_in"])
    if row["pilot"]:
        assert hole.pilot == row["pilot"].split()[0]
    if row["limits_in"]:
        assert "-".join(map(as_printed, hole.limits_in)) == row["limits_in"]


def as_printed(inches):
    return f"{float(inches):.4f}".rstrip("0").ljust(5, "0").removeprefix("0")


@pytest.mark.parametrize(
    "row", cases([r for r in HOLES if r["rivet"] == STEP_UP], "rivet", "pilot")
)
def test_pilots_of_large_holes(row):
    over = Fraction(row["rivet"].removeprefix("over "))
    pilots = holes.pilots_for(over + Fraction(1, 1000))
    assert " or ".join(pilots) == row["pilot"]
    assert holes.pilots_for(over) == ()


FASTENERS = rows("bolt_screw_holes")


@pytest.mark.parametrize("row", cases(FASTENERS, "fastener", "hole_in"))
def test_bolt_and_screw_holes(row):
    name, text = row["fastener"], row["hole_in"]
    if name.startswith("AN"):
        hole = hole_for(name.split()[0], source="manual")
        assert "-".join(map(as_printed, hole.limits_in)) == text.replace(" ", "")
    elif text.startswith("d ="):
        assert hardware.screw_diameter(6) == Fraction("0.138")
        assert hardware.screw_diameter(10) == Fraction("0.190")
    else:
        size = name.removeprefix("screw ").split()[0]
        fits = [hole_for(f"{size} screw", source=key) for key in ("close", "free")]
        printed = [Fraction(each) for each in text.split(" / ")]
        assert [each.diameter_in for each in fits] == printed


def test_screw_threads_follow_the_rule_of_numbers():
    numbered = {
        row["thread"].split("-")[0]: Fraction(row["diameter_in"])
        for row in tables.rows("threads")
        if re.fullmatch(r"[0-9]+-[0-9]+", row["thread"])
    }
    assert numbered
    for number, diameter in numbered.items():
        assert hardware.screw_diameter(int(number)) == diameter


PRACTICE = [row for row in rows("common_practice") if row["topic"] == "drill"]
# The clearance drill of a rivet stands in the drill table; the fact names no size.
UNANSWERED = {"numbered drill for a rivet"}


@pytest.mark.parametrize(
    "row", cases([r for r in PRACTICE if r["fact"] not in UNANSWERED], "fact")
)
def test_common_practice(row):
    fact, value = row["fact"], row["value"]
    if fact == "forms a shop keeps":
        assert drills.forms() == tuple(value.split(", "))
    elif rivet := re.match(r"(\S+) rivet final hole", fact):
        assert hole_for_rivet(Fraction(rivet[1])).drill.words + " drill" == value
    elif bolt := re.search(r"\((AN\d)\) hole", fact):
        assert hole_for(bolt[1]).drill == named(value)
    else:
        number = re.match(r"number (\d+) screw hole", fact)[1]
        assert hole_for(f"#{number} screw").drill == named(value)


def named(value):
    return drill(value.removesuffix(" drill").removesuffix(" in"))


def test_common_practice_of_a_countersink_pilot():
    row = next(r for r in rows("common_practice") if "pilot" in r["fact"])
    assert drill(flush.tools("3/32 rivet").pilot).words == row["value"]


def test_sources_differ_and_are_named():
    found = holes.holes_for("3/32 rivet")
    assert hole_for_rivet(Fraction(3, 32)).key == holes.SOURCES[0]
    assert len({hole.drill.name for hole in found}) > 1
    assert hole_for_rivet(Fraction(5, 32)).key == "handbook"
    assert {row["key"] for row in tables.rows("holes")} == set(holes.SOURCES)


@pytest.mark.parametrize(
    ("text", "fastener"),
    [
        ("MS20470AD4-4", "1/8 rivet"),
        ("MS20600 series, no. 42", "1/8 blind rivet"),
        ("AN3-4A", "AN3"),
        ("AN507-832R8", "#8 screw"),
        ("AN525-416R8", "1/4 screw"),
        ("AN960-10", ""),
    ],
)
def test_the_hole_of_a_callout(text, fastener):
    assert holes.fastener_of(parse(text)) == fastener
    if fastener:
        assert hole_for(fastener).diameter_in > 0


def test_every_hole_says_who_decides_and_its_words():
    assert hole_for_rivet(Fraction(1, 8)).caution == AIRWORTHINESS
    assert hole_for("AN5").words == ".3125 to .3195 in"
    assert hole_for("1/8 blind rivet").words == (
        "number 30 (.1285 in), .1280 to .1320 in"
    )


def test_unknown_holes_are_refused():
    with pytest.raises(Refused, match="any source"):
        hole_for_rivet(Fraction(1, 2))
    with pytest.raises(Refused, match="known: close"):
        hole_for("#4 screw", source="common")
    with pytest.raises(Refused, match="AN99"):
        hole_for("AN99")
