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
from inventory.ordering.rules import lists as stock
from inventory.planning.rules import lines as plan
from inventory.sheets import Told, how_read, look, reading
from inventory.sheets.tidying import Columns, Habits, is_total, tidy

COLUMNS = Columns(
    names=("part", "n", "size", "day", "stage"),
    whole=("n",),
    measures=("size",),
    days=("day",),
    filled=("stage",),
    called={"qty": "n"},
)


COMMA, POINT, UNKNOWN = Habits(True), Habits(False), Habits()
WORKBOOK = Habits(True, has_numbers=True)


@pytest.mark.parametrize(
    ("stands", "read"),
    [
        ("1 250", "1250"),
        ("12,345,678", "12345678"),
        ("12.345.678", "12345678"),
        ("12 pcs", "12"),
        ("12 off", "12"),
        ("approx 120", "120"),
        ("ca. 30 pcs", "30"),
        ("12.0", "12"),
        ("7", "7"),
        # What is no whole number, or could be two, stays as it stands.
        ("12.5", "12.5"),
        ("1,25", "1,25"),
        ("0,500", "0,500"),
        ("0.500", "0.500"),
        ("12,34,567", "12,34,567"),
        ("six", "six"),
        ("12 boxes", "12 boxes"),
        ("", ""),
    ],
)
def test_a_whole_number_as_people_write_it(stands, read):
    for habits in (COMMA, POINT, UNKNOWN, WORKBOOK):
        assert tidy(stands, "n", COLUMNS, habits) == read


@pytest.mark.parametrize(
    ("stands", "habits", "read"),
    [
        ("1,250", POINT, "1250"),
        ("1,250", UNKNOWN, "1250"),
        ("~ 1,200", POINT, "1200"),
        ("1,250", COMMA, "1,250"),
        ("1.250", COMMA, "1250"),
        ("1.000", COMMA, "1000"),
        ("1.250", POINT, "1.250"),
        ("1.000", POINT, "1.000"),
        ("1.125", WORKBOOK, "1.125"),
    ],
)
def test_thousands_by_what_the_files_comma_is(stands, habits, read):
    assert tidy(stands, "n", COLUMNS, habits) == read


@pytest.mark.parametrize(
    ("stands", "habits", "read"),
    [
        ("48,5", UNKNOWN, "48.5"),
        ("1.250,50", POINT, "1250.50"),
        ("48.5", COMMA, "48.5"),
        ("48,5 mm", COMMA, "48.5 mm"),
        ("1,250.50", COMMA, "1250.50"),
        ("4,890", POINT, "4890"),
        ("4,890", COMMA, "4.890"),
        ("4,890", UNKNOWN, "4,890"),
        ("1 1/4", UNKNOWN, "1 1/4"),
    ],
)
def test_a_number_with_decimals_is_read_by_the_files_own_habit(stands, habits, read):
    assert tidy(stands, "size", COLUMNS, habits) == read


@pytest.mark.parametrize(
    ("separator", "sizes", "read"),
    [
        (";", ["48,5", "1,250"], ["48.5", "1.250"]),
        (";", ["1,250"], ["1.250"]),
        (";", ["48.5", "1,250"], ["48.5", "1250"]),
        ("\t", ["1,204.50", "1,250"], ["1204.50", "1250"]),
        ("\t", ["4,90", "1.204,50"], ["4.90", "1204.50"]),
        ("\t", ["1,250"], ["1,250"]),
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
    for sign, habits in ((",", POINT), (".", COMMA), (" ", POINT), ("'", COMMA)):
        text = f"{number:,}".replace(",", sign)
        assert tidy(text, "n", COLUMNS, habits) == str(number)


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
        "Line 5, assembly: empty, taken from above: 'Spar'.",
        "Lines 5, 6, stage: empty, taken from above: 'Fin'.",
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


SEAM = ["stage", "assembly", "seam_length", "pitch", "rows", "callout"]


def seam(length, pitch="1"):
    return ["Fin", "Skin", length, pitch, "1", "AN426AD3-4"]


def workbook(rows, merged=(), more=()):
    """An XLSX of these rows, with cells merged, and other sheets before it."""
    book = Workbook()
    for title in more:
        book.active.title = title
        book.active.append(["Read me", "first"])
        book.active = book.create_sheet("List")
    sheet = book.active
    for row in rows:
        sheet.append(row)
    for cells in merged:
        sheet.merge_cells(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize("length", ["48,5", "48,125", "2x48,5", "1,250.5", "48,5 mm"])
def test_a_length_that_may_be_two_is_refused_wherever_nothing_says_which(length):
    commas = f'{",".join(SEAM)}\nFin,Skin,"{length}",1,1,AN426AD3-4\n'
    tabs = "\t".join(SEAM) + "\n" + "\t".join(seam(length)) + "\n"
    for name, data in (
        ("a.csv", commas.encode()),
        ("pasted", tabs.encode()),
        ("a.xlsx", workbook([SEAM, seam(length)])),
    ):
        good, (bad,) = plan.parse(look(name, data, plan.LIST).rows)
        assert good == []
        assert "may be one length or two: write it as 48.5 for one" in bad.sentence


def test_a_length_is_read_by_the_files_other_numbers():
    tabs = "\t".join(SEAM) + "\n" + "\t".join(seam("48,5", "1,5")) + "\n"
    (line,), bad = plan.parse(look("pasted", tabs.encode(), plan.LIST).rows)
    assert (line.each, bad) == (34, [])
    points = ";".join(SEAM) + "\n" + ";".join(seam("48,125", "1.5")) + "\n"
    _, (bad,) = plan.parse(look("s.csv", points.encode(), plan.LIST).rows)
    assert "may be one length or two" in bad.sentence


@pytest.mark.parametrize("lengths", ["10+12.5", "48, 50", "10,12.5", "10,12,14"])
def test_lengths_that_can_only_be_several_stay_several(lengths):
    (row,) = look("s.xlsx", workbook([SEAM, seam(lengths)]), plan.LIST).rows
    ((line,), bad) = plan.parse([row])
    assert bad == []
    assert line.seam.given["length"] == lengths


def test_a_workbooks_own_number_is_no_thousand():
    rows = [["stage", "assembly", "callout", "each"]]
    rows += [["Fin", "Skin", "AN426AD3-4", each] for each in (1.125, 2.0, "1,400 pcs")]
    good, (bad,) = plan.parse(look("a.xlsx", workbook(rows), plan.LIST).rows)
    assert [line.each for line in good] == [2, 1400]
    assert (bad.line, "'each' is '1.125'" in bad.sentence) == (2, True)


def test_two_headers_for_one_column_are_asked_about_and_none_is_lost():
    data = b"stage,assembly,callout,Qty,each\nFin,Skin,AN426AD3-4,12,99\n"
    table = look("a.csv", data, plan.LIST)
    assert table.unknown == ["Qty", "each"]
    assert "Two columns would be 'each'." in table.said
    told = Told(columns={"Qty": "each", "each": ""})
    table = look("a.csv", data, plan.LIST, told)
    assert (table.unknown, table.rows[0]["each"]) == ([], "12")


def test_what_a_name_was_taken_for_can_be_asked_about():
    data = b"stage,assembly,callout,Qty\nFin,Skin,AN426AD3-4,12\n"
    assert look("a.csv", data, plan.LIST).unknown == []
    assert look("a.csv", data, plan.LIST, Told(guessing=False)).unknown == ["Qty"]


def test_merged_cells_show_what_the_first_of_them_holds_but_no_number_twice():
    rows = [
        ["Location", "Bin no", "P/N", "Count"],
        ["rack A", 1, "MS20426AD3-3.5", 5],
        [None, 2, "MS20470AD4-5", None],
    ]
    table = look("a.xlsx", workbook(rows, ["A2:A3", "D2:D3"]), stock.LIST)
    good, ((line, said),) = stock.parse(table.rows)
    assert [(row.bin, row.spot, row.quantity) for row in good] == [(1, "rack A", 5)]
    assert (line, "'quantity' is 'as line 2'" in said) == (3, True)
    assert "Line 3, spot: empty, taken from above: 'rack A'." in how_read(table)


def test_the_sheet_with_the_list_is_read_and_the_others_are_named():
    rows = [["stage", "assembly", "callout", "each"], ["Fin", "Skin", "AN3-4A", 2]]
    table = look("a.xlsx", workbook(rows, more=["Notes"]), plan.LIST)
    assert table.rows[0]["each"] == "2"
    assert table.said == ["Read is the sheet 'List', not: 'Notes'."]


@pytest.mark.parametrize(
    ("texts", "is_one"),
    [
        (["Total", "", "1.352", "12 pcs", "48.5", "9"], True),
        (["Fin total", "90"], True),
        (["Sub-total"], True),
        (["Total", "Skin", "AN3-4A", "2"], False),
        (["Summer wing", "12"], False),
        (["Fin", "total", "2"], False),
    ],
)
def test_a_total_is_a_row_of_figures_under_that_name(texts, is_one):
    assert is_total(texts) is is_one


def test_a_guess_is_known_as_one():
    data = b"bin,callout,quantity\n1,AN3-4A,approx 120\n2,AN3-5A,120\n"
    rows = look("s.csv", data, stock.LIST).rows
    assert [row.guesses for row in rows] == [{"quantity"}, frozenset()]


def test_a_copied_range_is_parted_by_tabs():
    pasted = "stage\tassembly\tcallout\teach\nFin\tSkin\tAN426AD3-4\t7\n"
    (row,) = look("what was pasted", pasted.encode(), plan.LIST).rows
    assert (row["stage"], row["each"]) == ("Fin", "7")


def test_merged_cells_of_a_plan_are_filled_down():
    rows = [
        ["Our rudder", None, None, None],
        ["Section", "Assembly", "P/N", "Qty"],
        ["Rudder", "Rib", "AN470AD4-4", 12.0],
        [None, None, "AN470AD4-5", "1,100"],
    ]
    data = workbook(rows, ["A3:A4", "B3:B4"])
    good, bad = plan.parse(look("r.xlsx", data, plan.LIST).rows)
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
