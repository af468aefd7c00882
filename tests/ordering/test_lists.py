"""A stock list, row by row: its limits, what it changes, where rows without a bin go."""

from decimal import Decimal

import pytest

from inventory.catalog.actions import item_for_callout
from inventory.errors import Refused
from inventory.forecasting.queries.doubts import doubtful_bins
from inventory.ledger import queries as ledger
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.queries.counts import count_record
from inventory.ordering.actions import opening
from inventory.ordering.rules.lists import pieces_by_weight

pytestmark = pytest.mark.django_db
HEAD = "bin,callout,quantity,spot,keep_level,supplier,lead_days,pack,lot\n"
RIVET, LONGER = "MS20426AD3-3.5", "MS20426AD3-4"


def looked(*rows):
    text = HEAD + "\n".join(rows)
    return opening.preview(name="stock.csv", data=text.encode())


@pytest.mark.parametrize(
    ("row", "is_good"),
    [
        ("9999,{0},1000000,{0},1000000,{0},730,1000000,{0}", True),
        ("1,{0},0,,0,,0,1,", True),
        ("0,{0},1,,,,,,", False),
        ("10000,{0},1,,,,,,", False),
        ("1,{0},1000001,,,,,,", False),
        ("1,{0},1,,1000001,,,,", False),
        ("1,{0},1,,,,731,,", False),
        ("1,{0},1,,,,,0,", False),
        ("1,{0},1,,,,,1000001,", False),
    ],
)
def test_the_limits_of_a_stock_list_are_allowed_and_no_more(db, row, is_good):
    found = looked(row.format("A" * 130))
    assert len(found.bad) == 1 - is_good
    for line in found.lines:
        assert len(line.callout) == 120
        assert {len(line.spot), len(line.supplier)} <= {0, 80}
        assert len(line.lot) in (0, 60)


def test_about_120_is_doubted_as_such(owner, now):
    """A fifth, where what a list counted is a twentieth (a guess, no source)."""
    found = looked(f"1,{RIVET},approx 120", f"2,{LONGER},120")
    opening.apply(found=found, by=owner, now=now)
    items = {row.item_id: row.number for row in ledger.bins()}
    doubts = doubtful_bins(items, count_record())
    assert {items[row.known.item_id]: round(row.doubt, 2) for row in doubts} == {
        1: 24.0,
        2: 6.0,
    }


def test_a_bin_stands_on_one_line(db):
    found = looked(f"7,{RIVET},1", f"7,{LONGER},2", "7,,3")
    assert found.bad == [
        (3, "Bin 7 stands on line 2 already."),
        (4, "It names nothing: give a callout, or a kind with its size."),
    ]


def test_rows_without_a_bin_go_to_their_items_first_or_the_next(rivets, owner, now):
    open_bin(item=rivets.item, by=owner, number=13)
    rows = [f",{RIVET},5", f",{RIVET},6", f"20,{LONGER},7", f",{LONGER},8"]
    found = looked(*rows)
    assert [line.bin for line in found.lines] == [12, 21, 20, 22]
    assert [each.partition(":")[0] for each in found.changes] == [
        "bin 12",
        "new bin 21",
        "new bin 20",
        "new bin 22",
    ]
    assert opening.apply(found=found, by=owner, now=now) == 4
    held = {bin.number: ledger.quantity_in(bin) for bin in ledger.bins()}
    assert held == {12: 45, 13: 0, 20: 7, 21: 6, 22: 8}


def test_the_first_bin_of_a_list_is_number_1(db):
    found = looked(f",{RIVET},5", f",{LONGER},5")
    assert found.first
    assert [line.bin for line in found.lines] == [1, 2]


CHANGES = [
    ("0,,,,,,", []),
    ("5,,,,,,", ["bin 12: opening 0 becomes 5"]),
    ("0,rack A,,,,,", []),
    ("0,rack B,,,,,", ["bin 12: spot or keep level"]),
    ("0,,0,,,,", ["bin 12: spot or keep level"]),
    ("0,,,Hangar supply,6,100,", ["bin 12: bought from Hangar supply"]),
    ("0,,,,,,R-1", ["bin 12: lot R-1"]),
    ("5,rack B,9,Hangar supply,,,R-1", 4),
]


@pytest.mark.parametrize(("cells", "said"), CHANGES)
def test_what_a_list_changes_of_a_bin_is_said_and_done_once(
    rivets, owner, now, cells, said
):
    found = looked(f"12,{RIVET},{cells}")
    assert not found.first
    assert said in (found.changes, len(found.changes))
    assert opening.apply(found=found, by=owner, now=now) == len(found.changes)
    assert looked(f"12,{RIVET},{cells}").changes == []
    assert looked(f"12,{RIVET},{cells[0]},,,,,,").changes == []


def test_another_spelling_of_a_bins_item_is_the_same(rivets):
    found = looked("12,AN426AD3-3.5,5", ",NAS1097AD3-3,5")
    assert found.bad == []
    assert found.changes[0] == "bin 12: opening 0 becomes 5"
    assert found.changes[1].startswith("new bin 13")


def test_what_a_corrected_list_leaves_out_stays(rivets, owner, now):
    for cells in ("5,rack B,9", "7,,"):
        opening.apply(found=looked(f"12,{RIVET},{cells}"), by=owner, now=now)
    bin = ledger.bin_numbered(12)
    assert (bin.spot, bin.keep_level, ledger.quantity_in(bin)) == ("rack B", 9, 47)


@pytest.mark.parametrize("row", [f"12,{LONGER},1", "12,ZZ-NEW 7,1"])
def test_no_row_changes_what_a_bin_holds(rivets, owner, now, row):
    item_for_callout(text=LONGER)
    found = looked(row, f"13,{RIVET},1")
    assert "Bin 12 holds 3/32 flush" in found.bad[0][1]
    with pytest.raises(Refused, match="1 rows"):
        opening.apply(found=found, by=owner, now=now)
    opening.apply(found=found, by=owner, now=now, good_rows_only=True)
    assert [bin.number for bin in ledger.bins()] == [12, 13]


# Computed: 81 mg a piece.
@pytest.mark.parametrize(
    ("sample", "mass", "pieces"),
    [
        ((100, Decimal("8.10")), None, 600),
        ((10, Decimal("0.81")), Decimal(99), 600),
        ((None, None), Decimal(81), 600),
        ((100, Decimal(0)), Decimal(81), 600),
    ],
)
def test_a_sample_outweighs_what_a_piece_is_known_to_weigh(sample, mass, pieces):
    assert pieces_by_weight(Decimal("48.60"), *sample, mass) == pieces
    with pytest.raises(Refused, match="count a sample"):
        pieces_by_weight(Decimal("48.60"), sample[0], None, None)
