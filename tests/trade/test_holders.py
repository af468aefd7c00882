"""Temporary fasteners: the hole's size, the published and the shop's colours."""

import re

import pytest

from inventory.errors import Refused
from inventory.trade import holders
from inventory.trade.holders import colour, holder_size
from tests.trade.checks import cases, rows

COLOURS = rows("sheet_holder_colours")
PRACTICE = [r for r in rows("common_practice") if r["topic"] == "temporary fastener"]


@pytest.mark.parametrize("row", cases(COLOURS, "hole_size", "colour"))
def test_published_colour_and_usual_drill(row):
    assert colour(row["hole_size"], source="course") == row["colour"]
    for hole in row["drill (usual)"].split(" / "):
        assert holder_size(hole) == row["hole_size"]


FIRST = [row for row in rows("first_checks") if row["topic"] == "holder colour"]


@pytest.mark.parametrize("row", cases(FIRST, "id", "input"))
def test_first_check_of_colours(row):
    pairs = zip(row["input"].split(), row["expected"].split(), strict=True)
    for size, shade in pairs:
        assert shade in colour(size)


@pytest.mark.parametrize("row", cases(PRACTICE, "fact"))
def test_common_practice(row):
    if row["fact"] == "forms a shop keeps":
        kept = row["value"].replace(" (close clearance)", "")
        assert holders.forms() == tuple(kept.split(", "))
    elif shade := re.match(r"number (\d+) .*colour", row["fact"]):
        assert colour(f"#{shade[1]}", source="practice") == row["value"]
    else:
        size, hole = re.search(r"(\S+) hole", row["fact"])[1], row["value"].split()
        assert holder_size(f"#{hole[hole.index('number') + 1]}") == size


# Common practice for the rivet and bolt holes; the rest from memory.
@pytest.mark.parametrize(
    ("holes", "size"),
    [
        ("1/16 #52 #51", "1/16"),
        ("3/32 #41 #40", "3/32"),
        ("1/8 #31 #30", "1/8"),
        ("5/32 #21 #20 #19", "5/32"),
        ("3/16 #12 #11 #10", "3/16"),
        ("1/4 F", "1/4"),
    ],
)
def test_hole_sizes(holes, size):
    assert {holder_size(hole) for hole in holes.split()} == {size}


def test_thirty_and_forty_are_not_the_same():
    assert holder_size("30") != holder_size("40")


def test_two_sizes_share_black():
    assert holders.same_colour("1/16") == ("5/32",)
    assert holders.same_colour("#30") == ()


def test_unknown_sizes_are_refused():
    with pytest.raises(Refused, match="#60"):
        holder_size("#60")
    with pytest.raises(Refused, match="practice"):
        colour("1/4", source="practice")
