"""Spreadsheets as people keep them are read as a careful person would key them.

What is expected is keyed by hand beside each; the sheets are invented.
"""

import io
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook

from inventory.errors import Refused
from inventory.planning.rules import lines as plan
from inventory.sheets import Told, how_read, look, reading
from inventory.sheets.tidying import Columns, Habits, tidy

COLUMNS = Columns(
    names=("part", "n", "size", "day", "stage"),
    whole=("n",),
    measures=("size",),
    days=("day",),
    filled=("stage",),
    called={"qty": "n"},
)


@pytest.mark.parametrize(
    ("stands", "read"),
    [
        ("1,250", "1250"),
        ("1.250", "1250"),
        ("1 250", "1250"),
        ("12,345,678", "12345678"),
        ("12 pcs", "12"),
        ("12 off", "12"),
        ("approx 120", "120"),
        ("~ 1,200", "1200"),
        ("ca. 30 pcs", "30"),
        ("12.0", "12"),
        ("7", "7"),
        # What is no whole number, or could be two, stays as it stands.
        ("12.5", "12.5"),
        ("1,25", "1,25"),
        ("12,34,567", "12,34,567"),
        ("six", "six"),
        ("12 boxes", "12 boxes"),
        ("", ""),
    ],
)
def test_a_whole_number_as_people_write_it(stands, read):
    for comma in (True, False):
        assert tidy(stands, "n", COLUMNS, Habits(comma)) == read


@pytest.mark.parametrize(
    ("stands", "comma", "read"),
    [
        ("48,5", True, "48.5"),
        ("1.250,50", True, "1250.50"),
        ("48.5", True, "48.5"),
        ("48,5 mm", True, "48.5 mm"),
        ("1,250.50", False, "1250.50"),
        ("4,890", False, "4890"),
        ("48.5", False, "48.5"),
        # Two lengths, where the comma does not part decimals.
        ("48, 50", False, "48, 50"),
    ],
)
def test_a_number_with_decimals_is_read_by_the_files_own_habit(stands, comma, read):
    assert tidy(stands, "size", COLUMNS, Habits(comma)) == read


@pytest.mark.parametrize(
    ("separator", "sizes", "read"),
    [
        (";", ["48,5", "1,250"], ["48.5", "1.250"]),
        (";", ["1,250"], ["1.250"]),
        (";", ["48.5", "1,250"], ["48.5", "1250"]),
        ("\t", ["1,204.50", "1,250"], ["1204.50", "1250"]),
        ("\t", ["4,90", "1.204,50"], ["4.90", "1204.50"]),
        ("\t", ["1,250"], ["1250"]),
        ("\t", ["48,5", "1.5"], ["48.5", "1.5"]),
        (";", ["48,5", "1.5"], ["48.5", "1.5"]),
    ],
)
def test_a_files_own_numbers_say_what_its_comma_is(separator, sizes, read):
    head = separator.join(("part", "n", "size"))
    rows = [separator.join(("A", "1", size)) for size in sizes]
    data = "\n".join([head, *rows])
    table = look("f.csv", data.encode(), COLUMNS)
    assert [row["size"] for row in table.rows] == read


@given(st.dates(min_value=date(1950, 1, 1), max_value=date(2150, 12, 31)))
def test_every_date_is_read_back_in_its_order(day):
    for text, habits in (
        (f"{day:%d.%m.%Y}", Habits()),
        (f"{day:%d/%m/%Y}", Habits(day_first=True)),
        (f"{day:%m/%d/%Y}", Habits(day_first=False)),
        (f"{day:%Y-%m-%d}", Habits()),
    ):
        assert tidy(text, "day", COLUMNS, habits) == day.isoformat()


def test_a_date_that_could_be_two_is_asked_about_and_one_that_could_not_is_read():
    table = look(
        "d.csv", b"part,day\nA,02/03/2027\nB,02/20/2027\nC,03/03/2027\n", COLUMNS
    )
    assert table.asks_order
    assert [row["day"] for row in table.rows] == [
        "02/03/2027",
        "2027-02-20",
        "2027-03-03",
    ]
    day_first = look(
        "d.csv", b"part,day\nA,02/03/2027\n", COLUMNS, Told(day_first=True)
    )
    assert day_first.rows[0]["day"] == "2027-03-02"


@given(st.integers(0, 9_999_999))
def test_thousands_are_the_number_however_they_are_parted(number):
    for sign in ",. '":
        text = f"{number:,}".replace(",", sign)
        assert tidy(text, "n", COLUMNS, Habits()) == str(number)


MESSY = """Fin kit, as it came

Stage;Assembly;Part number;Qty;Seam length;Remarks
Fin;Spar;AN426AD3-4;1.250;;left
;;AN470AD4-5;12 pcs;;
;Skin;AN426AD3-5;approx 90;;
Total;;;1.352;;
"""
SEAMED = """sep=;
stage;assembly;seam_length;pitch;rows;diameter;head;alloy;callout
Fin;Skin;48,5;1,5;1;;;;AN426AD3-4
"""


def test_a_messy_list_is_read_as_a_careful_person_would_key_it():
    table = look("fin.csv", MESSY.encode("utf-16"), plan.LIST)
    assert table.unknown == ["Remarks"]
    told = Told(columns={"Remarks": ""})
    table = look("fin.csv", MESSY.encode("cp1252"), plan.LIST, told)
    good, bad = plan.parse(table.rows)
    assert bad == []
    assert [(r.line, r.stage, r.assembly, r.callout, r.each) for r in good] == [
        (4, "Fin", "Spar", "AN426AD3-4", 1250),
        (5, "Fin", "Spar", "AN470AD4-5", 12),
        (6, "Fin", "Skin", "AN426AD3-5", 90),
    ]
    said = how_read(table)
    for words in (
        "1 line above the header: left out.",
        "The column 'Part number' is read as 'callout'.",
        "The column 'Remarks' is left out.",
        "Line 7 is a total, 'Total",
        "3 empty cells take what stands above them.",
        "Line 4, each: '1.250' is read as 1250.",
        "Line 6, each: 'approx 90' is read as 90, a guess.",
    ):
        assert any(words in sentence for sentence in said), words


def test_a_decimal_comma_is_no_second_seam():
    (row,) = look("s.csv", SEAMED.encode(), plan.LIST).rows
    (line,), bad = plan.parse([row])
    assert bad == []
    same = SEAMED.replace("48,5", "48.5").replace("1,5", "1.5")
    (other,), _ = plan.parse(look("s.csv", same.encode(), plan.LIST).rows)
    assert (line.each, line.callout) == (other.each, "AN426AD3-4")
    # 48.5 in at a pitch of 1.5 in at most: 33 gaps, so that none is wider, and 34 rivets.
    assert line.each == 34


@pytest.mark.parametrize("lengths", ["10,125", "10,12.5", "48, 50"])
def test_lengths_parted_by_commas_stay_two_where_commas_part_cells(lengths):
    data = f'stage,assembly,seam_length\nFin,Skin,"{lengths}"\n'
    (row,) = look("s.csv", data.encode(), plan.LIST).rows
    assert row["seam_length"] == lengths


def test_a_copied_range_is_parted_by_tabs():
    pasted = "stage\tassembly\tcallout\teach\nFin\tSkin\tAN426AD3-4\t7\n"
    (row,) = look("what was pasted", pasted.encode(), plan.LIST).rows
    assert (row["stage"], row["each"]) == ("Fin", "7")


def test_merged_cells_of_a_workbook_are_filled_down():
    book = Workbook()
    sheet = book.active
    sheet.append(["Our rudder", None, None, None])
    sheet.append(["Section", "Assembly", "P/N", "Qty"])
    sheet.append(["Rudder", "Rib", "AN470AD4-4", 12.0])
    sheet.append([None, None, "AN470AD4-5", "1,100"])
    sheet.merge_cells("A3:A4")
    sheet.merge_cells("B3:B4")
    out = io.BytesIO()
    book.save(out)
    good, bad = plan.parse(look("r.xlsx", out.getvalue(), plan.LIST).rows)
    assert bad == []
    assert [(r.stage, r.assembly, r.each) for r in good] == [
        ("Rudder", "Rib", 12),
        ("Rudder", "Rib", 1100),
    ]


def test_a_header_that_names_nothing_is_refused_and_lines_keep_their_numbers():
    with pytest.raises(Refused, match="no column 'a'"):
        look("x.csv", b"a,b\n1,2\n", COLUMNS)
    table = look("x.csv", b"sep=;\npart;n\nA;1\n\n#note\nB;2\n", COLUMNS)
    assert [row.line for row in table.rows] == [3, 6]
    assert reading.read("x.csv", b"part,n\nA,1\n", COLUMNS.names)[0]["n"] == "1"
