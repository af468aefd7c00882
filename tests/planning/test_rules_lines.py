"""A plan file's rows: what each may say, to the last one that is allowed."""

import pytest

from inventory.planning.rules.lines import COLUMNS, parse
from inventory.sheets import csv_text, read

ROW = {
    "stage": "Fin",
    "assembly": "Spar",
    "callout": "MS20470AD4-5",
    "each": "9",
    "hole_size": "30",
    "holes": "9",
}


def parsed(*changes):
    rows = [{**ROW, **each} for each in changes]
    text = csv_text(COLUMNS, [[row.get(name, "") for name in COLUMNS] for row in rows])
    return parse(read("plan.csv", text.encode(), COLUMNS))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"callout": "A" * 121}, "longer than 120"),
        ({"each": "0"}, "from 1 to"),
        ({"how_many": "0"}, "from 1 to"),
        ({"days_held": "3651"}, "from 0 to 3650"),
        ({"hole_size": ""}, "such as #40"),
        ({"hole_size": "#999"}, "hole size: "),
        ({"operation": "bore"}, "'bore' is unknown: write full, open, removal"),
        ({"callout": "", "each": "", "holes": ""}, "asks for nothing"),
    ],
)
def test_a_bad_row_says_what_to_write(change, words):
    good, (bad,) = parsed(change)
    assert good == []
    assert (bad.line, words in bad.sentence) == (2, True)


def test_what_is_left_out_is_usual_and_the_limits_are_allowed():
    (usual, most), bad = parsed(
        {},
        {
            "assembly": "Rib",
            "callout": "A" * 120,
            "each": "1",
            "operation": "Open",
            "fasten_every": "2",
            "days_held": "3650",
        },
    )
    assert bad == []
    assert (usual.how_many, usual.hole_size, usual.operation) == (0, "#30", "full")
    assert (usual.start, usual.every_nth, usual.days_held) == (None, 0, 0)
    assert (most.each, most.operation, most.every_nth) == (1, "open", 2)
    assert most.days_held == 3650


def test_rows_of_one_assembly_say_one_number():
    _good, (bad,) = parsed({"how_many": "2"}, {"how_many": "2"}, {"how_many": "3"})
    assert bad.line == 4
    assert "made 2 times above and 3 times here" in bad.sentence


def test_holes_or_pieces_alone_are_a_row():
    (holes, pieces), _bad = parsed(
        {"callout": "", "each": ""}, {"holes": "", "hole_size": ""}
    )
    assert (holes.each, holes.holes) == (0, 9)
    assert (pieces.each, pieces.holes, pieces.hole_size) == (9, 0, "")
