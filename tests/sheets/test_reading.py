"""Bad files: each comes back with a sentence that says what to do."""

import io
import zipfile

import pytest
from openpyxl import Workbook

from inventory.errors import Refused
from inventory.sheets import csv_text, read

COLUMNS = ("stage", "assembly", "callout", "each")


def bomb():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as box:
        box.writestr("xl/worksheets/sheet1.xml", b"0" * 60_000_000)
    return out.getvalue()


def torn():
    out = io.BytesIO()
    Workbook().save(out)
    return out.getvalue()[:800]


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "sheet.empty"),
        (b'stage,assembly,callout,each\nFin,"Skin,X,3\nFin,Spar,Y,4\n', "sheet.quote"),
        (b'stage,assembly,callout,each\nFin,Sk"in"x,"X"y,3\n', "sheet.quote"),
        (b"\x89PNG\r\n\0\0\0", "sheet.type"),
        (b"colour,stage\nred,Fin\n", "sheet.header"),
        (b"stage,assembly\nFin,Skin,3,4\n", "sheet.columns"),
        (b"stage\n" + b"x" * 3000 + b"\n", "sheet.cell"),
        (b"stage\n" + b"Fin\n" * 20_002, "sheet.size"),
        (bomb(), "sheet.bomb"),
        (torn(), "sheet.torn"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_bad_file_is_refused_with_a_sentence(data, code):
    with pytest.raises(Refused) as refusal:
        read("plan.csv", data, COLUMNS)
    assert refusal.value.code == code
    assert "plan.csv" in refusal.value.sentence


def test_lines_are_the_files_own():
    rows = read("p.csv", b"# a remark\nstage,each\n\nFin,3\nWing,4\n", COLUMNS)
    assert [(row.line, row["stage"], row["callout"]) for row in rows] == [
        (4, "Fin", ""),
        (5, "Wing", ""),
    ]


def test_a_semicolon_file_from_a_spreadsheet():
    (row,) = read("p.csv", b"stage;assembly;each\nFin;Skin, left;3\n", COLUMNS)
    assert row["assembly"] == "Skin, left"


def test_a_formula_is_written_as_text():
    assert csv_text(["a"], [["=1+1"], [" @x"], [5]]) == "a\n'=1+1\n' @x\n5\n"
