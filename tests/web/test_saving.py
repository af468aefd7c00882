"""Lists as files: whole, disarmed, and read again by what imports them."""

import csv
import io
from typing import Any

import openpyxl
import pytest
from django.test import Client
from django.urls import reverse

from inventory.catalog.actions import item_for_callout
from inventory.ledger.actions import verbs
from inventory.ledger.models import Balance, Bin, Movement
from inventory.ledger.queries import bin_numbered, quantity_in
from inventory.ordering.models import Offer, Order, PriceBreak, Supplier
from inventory.sheets import writing
from inventory.web import lists
from tests.web.test_imports import fields, file


def saved(page: Client, name: str) -> list[dict[str, str]]:
    """The rows of a list, by column."""
    answer = page.get(reverse("list-csv", args=[name]))
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    text = b"".join(answer.streaming_content).decode()
    return list(csv.DictReader(io.StringIO(text)))


def workbook(page: Client, name: str) -> Any:
    """The same list as a workbook."""
    answer = page.get(reverse("list-xlsx", args=[name]))
    return openpyxl.load_workbook(io.BytesIO(b"".join(answer.streaming_content)))


def test_the_stock_list_is_one_that_is_imported(
    page: Client, rivets: Any, owner: Any, ask: Any, monkeypatch: Any
) -> None:
    """Every bin comes back as it was: by callout, by size, by name."""
    monkeypatch.setattr(lists, "PAGE", 2)
    for number, row in enumerate(DESCRIBED, 30):
        looked = page.post(
            reverse("stock-import"),
            {"file": file(f"bin,{HEAD}quantity\n{number},{row}\n".encode(), "s.csv")},
        )
        page.post(reverse("stock-apply"), fields(looked))
    before = {
        bin.number: (bin.item_id, bin.spot, bin.keep_level, quantity_in(bin))
        for bin in Bin.objects.all()
    }
    assert len(before) == len(DESCRIBED) + 1
    answer = page.get(reverse("list-csv", args=["stock"]))
    data = b"".join(answer.streaming_content)
    rows = saved(page, "stock")
    assert [int(row["bin"]) for row in rows] == sorted(before)
    # What a shop that knows nothing yet needs to make the same thing.
    columns = HEAD.strip(",").split(",")
    asked = [dict(zip(columns, row.split(","), strict=False)) for row in DESCRIBED]
    told = ("kind", "size", "name", "angle", "pilot", "thread")
    assert [[row[each] for each in told] for row in rows[1:]] == [
        [row[each] for each in told] for row in asked
    ]

    looked = page.post(reverse("stock-import"), {"file": file(data, "s.csv")})
    assert b"bad row" not in looked.content
    page.post(reverse("stock-apply"), fields(looked))
    assert before == {
        bin.number: (bin.item_id, bin.spot, bin.keep_level, quantity_in(bin))
        for bin in Bin.objects.all()
    }


HEAD = "callout,kind,size,form,name,unit,angle,pilot,thread,"
DESCRIBED = (
    "MS20426AD3-4,,,,,,,,,20",
    ",drill,#40,plain,,,,,,12",
    ",countersink cutter,3/32,,,,100,#41,1/4-28,2",
    ",temporary fastener,3/32,,,,,,,300",
    "TANK-SEALANT,sealant,,,Tank sealant,ml,,,,250",
    "XYZ-99,,,,,,,,,7",
)


def test_every_movement_is_in_the_list_once(
    page: Client, rivets: Any, ask: Any, monkeypatch: Any
) -> None:
    monkeypatch.setattr(lists, "PAGE", 2)
    bin = bin_numbered(rivets.number)
    for counted in (90, 80, 70, 60, 50):
        verbs.count(bin=bin, counted=counted, ask=ask(reason="=1+1"))
    rows = saved(page, "movements")
    assert [int(row["number"]) for row in rows] == list(
        Movement.objects.order_by("pk").values_list("pk", flat=True)
    )
    moved = sum(
        int(row["quantity"]) * ((row["to"] == "bin 12") - (row["from"] == "bin 12"))
        for row in rows
    )
    assert moved == Balance.objects.get(place=bin.place).quantity == 50
    assert rows[-1]["did"] == "counted"
    assert rows[-1]["reason"] == "'=1+1"
    sheet = workbook(page, "movements")["movements"]
    assert sheet.max_row == len(rows) + 1
    assert sheet.cell(sheet.max_row, 11).data_type == "s"


def test_orders_items_and_prices_say_what_stands(page: Client, order: Order) -> None:
    line = order.lines.get()
    (row,) = saved(page, "orders")
    assert row["order"] == str(order.number)
    assert (row["callout"], row["came"]) == (line.item.callout, "0")
    there = {row["callout"]: row["in_bins"] for row in saved(page, "items")}
    assert there[line.item.callout] == str(
        sum(quantity_in(bin) for bin in Bin.objects.filter(item=line.item))
    )
    offer = Offer.objects.create(
        item=item_for_callout(text="MS20426AD3-4"),
        supplier=order.supplier,
        pack=250,
        price="9.90",
        their_number="R-34",
    )
    PriceBreak.objects.create(offer=offer, from_packs=4, price="8.10")
    answer = page.get(reverse("list-csv", args=["prices"]))
    data = b"".join(answer.streaming_content)
    Offer.objects.all().delete()
    Supplier.objects.update(shipping=1)
    looked = page.post(reverse("offers-import"), {"file": file(data, "p.csv")})
    page.post(reverse("offers-apply"), fields(looked))
    back = Offer.objects.get()
    assert (str(back.price), back.pack, back.their_number) == ("9.90", 250, "R-34")
    assert [(each.from_packs, str(each.price)) for each in back.breaks.all()] == [
        (4, "8.10")
    ]
    assert Supplier.objects.get(pk=order.supplier_id).shipping == 0


def test_a_workbook_goes_on_on_another_sheet(monkeypatch: Any) -> None:
    monkeypatch.setattr(writing, "MOST_ROWS", 2)
    out = io.BytesIO()
    writing.write_xlsx(out, "movements", ["n"], ([n] for n in range(5)))
    sheets = openpyxl.load_workbook(out).worksheets
    assert [list(sheet.values) for sheet in sheets] == [
        [("n",), (0,), (1,)],
        [("n",), (2,), (3,)],
        [("n",), (4,)],
    ]


def test_lines_are_read_as_they_are_asked_for() -> None:
    """So that a list of any length takes the same memory."""
    read = []

    def rows() -> Any:
        for n in range(3):
            read.append(n)
            yield [n]

    lines = writing.csv_lines(["n"], rows())
    assert (next(lines), read) == ("n\n0\n", [0])
    assert (next(lines), read) == ("1\n", [0, 1])
    assert "".join(writing.csv_lines(["n"], [])) == "n\n"


@pytest.mark.parametrize("name", ["list-csv", "list-xlsx"])
def test_what_is_no_list_is_not_here(page: Client, name: str) -> None:
    assert page.get(reverse(name, args=["drill"])).status_code == 404
