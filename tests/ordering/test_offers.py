"""Price lists and offers: packs, prices and terms, one by one or as a file."""

from datetime import timedelta
from decimal import Decimal

import pytest

from inventory.catalog.actions import item_described
from inventory.catalog.queries import item_meant
from inventory.catalog.rules import described
from inventory.errors import Refused
from inventory.ledger.actions.posting import settle_rechecks
from inventory.ledger.queries import rechecks
from inventory.ordering.actions import offering, opening
from inventory.ordering.actions.placing import (
    AskLine,
    drop_line,
    expect,
    offer,
    place_order,
    supplier_called,
)
from inventory.ordering.models import Offer, Order, OrderLine, Supplier
from inventory.ordering.queries import (
    Owed,
    leads,
    line_numbered,
    offer_numbered,
    order_numbered,
    ordered_pieces,
    overdue,
    still_owed,
    supplier_names,
    supplier_numbered,
    suppliers,
)
from inventory.ordering.rules.example import offers_example
from inventory.ordering.rules.offers import COLUMNS, pack_of
from inventory.ordering.rules.packs import sure_pieces

pytestmark = pytest.mark.django_db


def test_a_pack_by_weight_holds_what_it_surely_holds():
    # Computed on dimensions from memory: about 81 mg a piece, with its doubt.
    quarter = Decimal("113.40")
    known = {"callout": "MS20426AD3-3.5", "unit": "pcs"}
    rough = sure_pieces(quarter, mg=Decimal("81.00"), weighed=False, **known)
    sure = sure_pieces(quarter, mg=Decimal("81.00"), weighed=True, **known)
    assert sure == int(113400 / (81 * 1.012))
    assert rough < sure < 1400
    assert sure_pieces(quarter, mg=None, weighed=False, callout="X", unit="g") == 113
    assert sure_pieces(quarter, mg=None, weighed=False, callout="X", unit="ml") is None


@pytest.mark.parametrize(
    ("text", "pack"),
    [
        ("250", (250, None)),
        ("1/4 lb", (None, Decimal("113.40"))),
        ("0,5 lb", (None, Decimal("226.80"))),
        ("113.4 g", (None, Decimal("113.40"))),
        ("1 kg", (None, Decimal("1000.00"))),
    ],
)
def test_a_pack_is_pieces_or_a_weight(text, pack):
    assert pack_of(text) == pack


@pytest.mark.parametrize("text", ["", "0", "some", "1/0 lb", "-5", "0 g", "1/4"])
def test_an_odd_pack_says_how_to_write_it(text):
    with pytest.raises(Refused, match="write the pieces such as 250"):
        pack_of(text)


def take(text, owner, **more):
    """A price list previewed and applied."""
    found = offering.preview(name="offers.csv", data=text.encode())
    return offering.apply(found=found, by=owner, **more)


def test_the_example_price_list_is_taken_and_changes_nothing_again(owner, now):
    assert take(offers_example(), owner) == 5
    supplier = Supplier.objects.get()
    assert (supplier.shipping, supplier.free_from) == (Decimal("12.95"), 150)
    assert Offer.objects.count() == 4
    by_count = Offer.objects.get(pack=250)
    assert [(row.from_packs, row.price) for row in by_count.breaks.all()] == [
        (4, Decimal("8.60"))
    ]
    assert take(offers_example(), owner) == 0
    dearer = offers_example().replace("9.80", "10.20")
    found = offering.preview(name="offers.csv", data=dearer.encode())
    assert found.changes == [
        "Hangar supply: 250 of AN470AD4-5: price 9.80 becomes 10.20"
    ]
    assert not found.first


def test_a_stock_list_and_a_price_list_agree_to_stand_together(owner, now):
    stock = (
        "bin,callout,quantity,supplier,lead_days,pack\n"
        "1,MS20426AD3-3.5,10,Hangar supply,6,1400\n"
    )
    prices = (
        "supplier,callout,pack,price\n"
        "Hangar supply,MS20426AD3-3.5,1400,22.00\n"
        "Hangar supply,MS20426AD3-3.5,1/4 lb,11.00\n"
    )

    def stock_changes():
        return opening.preview(name="stock.csv", data=stock.encode()).changes

    opening.apply(
        found=opening.preview(name="stock.csv", data=stock.encode()), by=owner, now=now
    )
    take(prices, owner)
    assert stock_changes() == []
    assert Offer.objects.count() == 2
    assert Offer.objects.get(pack=1400).lead_days == 6
    assert offering.preview(name="p.csv", data=prices.encode()).changes == []


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("Hangar,MS20426AD3-4,100,", "'price' is missing"),
        ("Hangar,MS20426AD3-4,some,3", "write the pieces such as 250"),
        ("Hangar,MS20426AD3-4,100,3.123", "write an amount such as"),
        ("Hangar,MS20426AD3-4,100,-3", "write an amount such as"),
        (",MS20426AD3-4,100,3", "supplier is missing"),
        ("Hangar,,100,3", "names nothing"),
        ("Hangar,MS20426AD3-4,100,3,4", "go together"),
        ("Hangar,MS20426AD3-4,100,3,,,5", "row of the supplier's own"),
    ],
)
def test_bad_rows_of_a_price_list_say_what_to_do(owner, row, words):
    head = "supplier,callout,pack,price,from_packs,price_from,shipping"
    good = "Hangar,AN470AD4-5,100,3"
    found = offering.preview(name="p.csv", data=f"{head}\n{row}\n{good}\n".encode())
    assert found.bad[0][0] == 2
    assert words in found.bad[0][1]
    with pytest.raises(Refused, match="1 rows"):
        offering.apply(found=found, by=owner)
    assert offering.apply(found=found, by=owner, good_rows_only=True) == 1


def test_the_same_pack_twice_is_a_bad_row(owner):
    row = "Hangar,AN470AD4-5,100,3\n"
    found = offering.preview(
        name="p.csv", data=f"supplier,callout,pack,price\n{row}{row}".encode()
    )
    assert found.bad == [(3, "The same stands on line 2 already.")]


def test_every_column_of_the_price_list_is_in_the_example():
    assert offers_example().splitlines()[0] == ",".join(COLUMNS)


def test_a_drill_by_its_size_is_priced_too(owner, now):
    prices = "supplier,kind,size,form,pack,price\nTools,drill,#40,plain,6,9.60\n"
    assert take(prices, owner) == 1
    item = item_described(what=described("drill", size="#40", form="plain"))
    assert Offer.objects.get().item == item
    assert take(prices, owner) == 0


LIMITS = "supplier,callout,pack,price,most_packs,lead_days,life_days\n"


@pytest.mark.parametrize(
    ("row", "is_good"),
    [
        ("1000000,1000000,10000,730,7300", True),
        ("1,0,1,0,1", True),
        ("1,1000000.01,1,0,1", False),
        ("1000001,1,1,0,1", False),
        ("1,1,0,0,1", False),
        ("1,1,10001,0,1", False),
        ("1,1,1,731,1", False),
        ("1,1,1,0,0", False),
        ("1,1,1,0,7301", False),
    ],
)
def test_the_limits_of_a_price_list_are_allowed_and_no_more(db, row, is_good):
    text = f"{LIMITS}Hangar,{'A' * 130},{row}\n"
    found = offering.preview(name="p.csv", data=text.encode())
    assert [line.callout for line in found.lines] == ["A" * 120] * is_good
    assert len(found.bad) == 1 - is_good


def test_terms_are_told_once_and_what_is_empty_stays(owner):
    head = "supplier,lead_days,shipping,minimum\n"
    assert take(f"{head}Hangar,5,3.50,10\n", owner) == 1
    again = offering.preview(name="p.csv", data=f"{head}Hangar,5,3.50,\n".encode())
    assert again.changes == []
    dearer = f"{head}Hangar,,4,\nHangar,6,,\n"
    found = offering.preview(name="p.csv", data=dearer.encode())
    assert found.changes == ["Hangar: shipping 4"]
    assert found.bad == [(3, "The same stands on line 2 already.")]
    offering.apply(found=found, by=owner, good_rows_only=True)
    row = Supplier.objects.get()
    assert (row.lead_days, row.shipping, row.minimum) == (5, 4, 10)


def test_what_a_price_list_changes_is_said(owner):
    row = "Hangar,AN470AD4-5,100,3"
    take(f"supplier,callout,pack,price,lead_days\n{row},9\n", owner)

    def changed(cells, columns=""):
        text = f"supplier,callout,pack,price{columns}\nHangar,AN470AD4-5,{cells}\n"
        return offering.preview(name="p.csv", data=text.encode()).changes

    said = "Hangar: 100 of AN470AD4-5"
    assert changed("100,3") == []
    spelled = row.replace("AN470", "MS20470")
    text = f"supplier,callout,pack,price\n{spelled}\n"
    assert offering.preview(name="p.csv", data=text.encode()).changes == []
    assert changed("100,3,8", ",lead_days") == [f"{said}: other terms"]
    assert changed("100,3,7", ",most_packs") == [f"{said}: other terms"]
    assert changed("5 g,3") == ["Hangar: 5.00 g of AN470AD4-5 at 3"]
    Offer.objects.update(price=None)
    assert changed("100,3") == [f"{said}: price unknown becomes 3"]


def test_price_breaks_stand_in_order(owner):
    pairs = [(f"from_packs{n}", f"price_from{n}") for n in ("", "_2")]
    head = ",".join(["supplier,callout,pack,price", *(",".join(p) for p in pairs)])
    good, bad = "2,9.00,10000,8.00", "4,9.00,4,8.00"
    for breaks in ("10000,8.00,2,9.00", good):
        text = f"{head}\nHangar,AN470AD4-5,100,10,{breaks}\n"
        offering.apply(
            found=offering.preview(name="p.csv", data=text.encode()), by=owner
        )
        rows = Offer.objects.get().breaks.values_list("from_packs", "price")
        assert list(rows) == [(2, 9), (10000, 8)]
    for wrong, words in ((bad, "same count"), ("1,9.00,,", "from 2 to 10000")):
        text = f"{head}\nHangar,AN470AD4-5,100,10,{wrong}\n"
        found = offering.preview(name="p.csv", data=text.encode())
        assert words in found.bad[0][1]


def stated(supplier, amount, owner):
    changes = {"shipping": Decimal(amount)}
    offering.change_terms(supplier=supplier, changes=changes, by=owner)


def test_a_suppliers_terms_have_limits(rivets, owner):
    supplier = supplier_called(name=" Hangar   supply ")
    offer(item=rivets.item, supplier=supplier, pack=100, lead_days=None)
    settle_rechecks({row.item_id: row.wanted for row in rechecks()})
    with pytest.raises(Refused, match="write an amount from 0 to 1000000"):
        stated(supplier, "1000001", owner)
    assert rechecks() == []
    for amount in ("0", "1000000"):
        stated(supplier, amount, owner)
    assert [row.item_id for row in rechecks()] == [rivets.item_id]
    assert supplier_names() == ["Hangar supply"]


def test_an_offer_without_a_price_takes_the_pack_that_is_stated(rivets, owner):
    supplier = supplier_called(name="Hangar supply", lead_days=9)
    first = offer(item=rivets.item, supplier=supplier, pack=100, lead_days=None)
    assert offer(item=rivets.item, supplier=supplier, pack=50, lead_days=4) == first
    assert (first.refresh_from_db(), first.pack, first.lead_days) == (None, 50, 4)
    Offer.objects.update(price=3)
    other = offer(item=rivets.item, supplier=supplier, pack=200, lead_days=None)
    assert offer(item=rivets.item, supplier=supplier, pack=50, lead_days=7) == first
    assert other != first
    assert leads()[rivets.item_id].days == 7
    assert leads([]) == {}
    offering.drop_offer(offer=first, by=owner)
    assert leads([rivets.item_id])[rivets.item_id].days == 9
    with pytest.raises(Refused, match="Name the supplier"):
        supplier_called(name=" ")


@pytest.fixture
def placed(rivets, owner, now):
    """An order of 3 packs of 100 at a supplier of five days."""
    return place_order(
        supplier=supplier_called(name="Hangar supply", lead_days=5),
        asks=[AskLine(rivets.item, 3, 100)],
        placed_on=now.date(),
        by=owner,
        reference=f" {'r' * 70}",
    )


def test_an_order_is_expected_by_its_suppliers_days(placed, owner, now):
    day = now.date() + timedelta(5)
    assert (placed.number, placed.reference) == (1, "r" * 60)
    assert (placed.expected_on, placed.code) == (day, order_numbered(1).code)
    assert [row.pieces for row in overdue(day)] == []
    assert [row.pieces for row in overdue(day + timedelta(1))] == [300]
    expect(order=placed, on=now.date(), by=owner)
    assert [row.pieces for row in overdue(day)] == [300]
    with pytest.raises(Refused, match="before the order was placed"):
        expect(order=placed, on=now.date() - timedelta(1), by=owner)
    line = placed.lines.get()
    settle_rechecks({row.item_id: row.wanted for row in rechecks()})
    drop_line(line=line, by=owner, now=now)
    assert still_owed() == []
    assert [row.item_id for row in rechecks()] == [line.item_id]


@pytest.mark.parametrize(
    ("packs", "pieces", "grams", "words"),
    [
        (0, 100, None, "1 to 10,000 packs"),
        (10_001, 100, None, "1 to 10,000 packs"),
        (1, None, None, "How many pieces"),
        (1, 0, Decimal(0), "How many pieces"),
    ],
)
def test_an_order_line_asks_for_something(
    placed, rivets, owner, now, packs, pieces, grams, words
):
    def ordered(*lines, **more):
        return place_order(
            supplier=placed.supplier,
            asks=[AskLine(rivets.item, *line) for line in lines],
            placed_on=now.date(),
            by=owner,
            **more,
        )

    with pytest.raises(Refused, match=words):
        ordered((1, 1, None), (packs, pieces, grams))
    with pytest.raises(Refused, match="no lines"):
        ordered()
    with pytest.raises(Refused, match="before it was placed"):
        ordered((1, 1), expected_on=now.date() - timedelta(1))
    assert Order.objects.count() == 1
    same_day = ordered((1, 1), (10_000, None, Decimal(1)), expected_on=now.date())
    assert (same_day.number, same_day.lines.count()) == (2, 2)


def test_a_pack_by_weight_counts_by_the_mass_of_a_piece(rivets):
    line = OrderLine(item=rivets.item, packs=2, pack_grams=Decimal("8.10"))
    rivets.item.piece_mass_mg = None
    assert ordered_pieces(line) == 0
    rivets.item.piece_mass_mg = Decimal(81)
    assert ordered_pieces(line) == 200
    assert [Owed(line, *each).pieces for each in ((0, 0), (9, 9), (9, 8), (0, 5))] == [
        0,
        0,
        1,
        0,
    ]


@pytest.mark.parametrize(
    ("pack", "grams", "words"),
    [(250, None, "250"), (None, Decimal("113.40"), "113.4 g"), (None, None, "")],
)
def test_a_pack_is_said_as_a_person_writes_it(pack, grams, words):
    assert Offer(pack=pack, pack_grams=grams).pack_words == words


@pytest.mark.parametrize(
    ("ask_for", "code"),
    [
        (supplier_numbered, "supply.no_supplier"),
        (offer_numbered, "supply.no_offer"),
        (order_numbered, "supply.no_order"),
        (line_numbered, "supply.no_line"),
    ],
)
def test_what_is_not_there_is_refused(placed, ask_for, code):
    assert list(suppliers()) == [supplier_numbered(placed.supplier_id)]
    assert line_numbered(placed.lines.get().pk).got == 0
    with pytest.raises(Refused) as refused:
        ask_for(10**6)
    assert refused.value.code == code


def test_their_numbers_come_with_a_price_list_and_name_one_item_each(owner, now):
    head = "supplier,callout,pack,price,Supplier part number\n"
    rows = "Hangar supply,AN470AD4-5,250,9.80,HS-5\nHangar supply,AN470AD4-6,250,9.80,"
    found = offering.preview(name="p.csv", data=f"{head}{rows}HS-5\n".encode())
    ((line, said),) = found.bad
    assert (line, len(found.lines)) == (3, 1)
    assert "stands on line 2 for AN470AD4-5" in said
    assert take(f"{head}{rows}HS-6\n", owner) == 2
    assert item_meant("hs-6").words == "1/8 universal, 3/8 long"
    assert take(f"{head}{rows}HS-6\n", owner) == 0
    # An empty cell takes none away; a standard number of another item is refused.
    assert take(f"{head}{rows}\n", owner) == 0
    other = f"{head}Second shop,AN470AD4-6,100,4.00,MS20470AD4-5\n"
    ((_line, said),) = offering.preview(name="p.csv", data=other.encode()).bad
    assert "means 1/8 universal, 5/16 long" in said
    new = f"{head}Second shop,AN3-4A,10,4.00,AN3-4A\n"
    assert take(new, owner) == 1
    assert take(new.replace("4.00,AN3-4A", "4.00,X-1"), owner) == 1
    assert sorted(Offer.objects.values_list("their_number", flat=True)) == [
        "HS-5",
        "HS-6",
        "X-1",
    ]
