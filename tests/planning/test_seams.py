"""Seams in the plan file: reckoned, kept beside the counts, and opened again."""

import pytest

from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.planning.actions import importing
from inventory.planning.models import Assembly, Drilling, Need, Seam
from inventory.planning.queries import why_needed
from inventory.planning.rules.lines import COLUMNS
from inventory.sheets import csv_text

pytestmark = pytest.mark.django_db
# AC 43.13-1B para 4-58g (published): 10 in of .032 clad 2024, 1/8 rivets, by table
# 4-10, single lap: 37 rivets, two rows of 19.
SPLICE = {
    "stage": "Wing",
    "assembly": "Skin splice",
    "how_many": "2",
    "seam_length": "10",
    "rows": "2",
    "sheets": ".032+.032",
    "diameter": "1/8",
    "splice": "4-10",
    "share": "lap",
    "fasten_every": "2",
    "days_held": "5",
}


def preview(*rows):
    text = csv_text(COLUMNS, [[row.get(name, "") for name in COLUMNS] for row in rows])
    return importing.preview(name="plan.csv", data=text.encode())


def take(owner, now, *rows):
    return importing.apply(found=preview(*rows), by=owner, now=now)


def counted(**changes):
    line = {"stage": "Wing", "assembly": "Skin splice", "how_many": "2"}
    return {**line, **changes}


def test_a_seam_becomes_needs_holes_and_fasteners(owner, now):
    take(owner, now, SPLICE)
    need, hole = Need.objects.get(), Drilling.objects.get()
    assert (need.callout, need.each, need.assembly.how_many) == ("MS20470AD4-4", 38, 2)
    assert (hole.hole_size, hole.holes_each, hole.operation) == ("#30", 38, "full")
    assert (hole.every_nth, hole.days_held) == (2, 5)


def test_pilot_and_final_drilling_are_two_rows_and_one_is_held(owner, now):
    take(owner, now, {**SPLICE, "pilot": "40"})
    rows = Drilling.objects.order_by("hole_size").values_list(
        "hole_size", "operation", "holes_each", "every_nth"
    )
    assert list(rows) == [("#30", "open", 38, 2), ("#40", "full", 38, 0)]


def test_the_number_opens_down_to_the_seam_and_its_rule(owner, now):
    take(owner, now, SPLICE, counted(callout="MS20470AD4-4", each="6"))
    item = Item.objects.get(key__startswith="MS20470AD4-4")
    why = why_needed(item.pk)
    assert why.number == (38 + 6) * 2
    (line,) = why.parts
    assert line.words == "Wing / Skin splice: 44 each, made 2 times"
    seam, rest = line.parts
    assert (seam.number, seam.words) == (38, "38 rivets = 10 in: 19 + 19")
    assert "splice 4-10" in seam.source
    assert "AC 43.13-1B" in seam.source
    assert (rest.number, rest.words) == (6, "MS20470AD4-4, counted in the plan")
    assert why_needed(item.pk, Assembly.objects.get()) == why
    assert why.as_data()["parts"][0]["parts"][0]["number"] == 38


def test_the_same_file_again_changes_nothing_and_another_pitch_shows(owner, now):
    pitched = {**SPLICE, "splice": "", "share": "", "pitch": "1/2"}
    take(owner, now, pitched, pitched)
    assert Need.objects.get().each == 80
    assert Seam.objects.get().rivets == 80
    assert preview(pitched, pitched).changes == []
    said = " ".join(
        each.sentence for each in preview({**pitched, "pitch": "1"}).changes
    )
    assert "80 each becomes 22 each" in said
    assert "new seam" in said
    assert "dropped seam" in said


def test_a_file_without_the_seam_takes_it_away(owner, now):
    take(owner, now, SPLICE)
    take(owner, now, counted(callout="MS20470AD4-4", each="38"))
    assert Seam.objects.count() == 0
    assert Need.objects.get().each == 38


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"each": "38"}, "gives a seam and 'each'"),
        ({"holes": "38"}, "gives a seam and 'holes'"),
        ({"splice": ""}, "either a pitch or a number"),
        ({"sheets": "", "splice": "", "pitch": "1"}, "Give the sheets"),
        ({"diameter": "one"}, "a size such as 3/32"),
        ({"callout": "MS20470AD-4"}, "alloy letter, diameter and length"),
        ({"seam_length": "ten"}, "a size such as 3/32"),
    ],
)
def test_a_seam_that_cannot_be_is_a_bad_row_with_its_line(change, words, owner, now):
    found = preview({**SPLICE, **change})
    (bad,) = found.bad
    assert bad.line == 2
    assert words in bad.sentence
    with pytest.raises(Refused, match="1 rows"):
        importing.apply(found=found, by=owner, now=now)
