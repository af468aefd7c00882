"""Opening stock, orders and receipts."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.ledger import queries as ledger
from inventory.ledger.actions import undoing, verbs
from inventory.ledger.models import Recheck
from inventory.ledger.queries.lots import lots_in
from inventory.ordering.actions import opening
from inventory.ordering.actions.placing import (
    AskLine,
    drop_line,
    expect,
    place_order,
    supplier_called,
    wait_again,
)
from inventory.ordering.actions.receiving import (
    Papers,
    WeighedDelivery,
    receive,
    weigh,
)
from inventory.ordering.models import OrderLine
from inventory.ordering.queries import due, leads, still_owed
from inventory.ordering.rules.example import stock_example

pytestmark = pytest.mark.django_db
STOCK = stock_example()


def take(text, owner, now):
    found = opening.preview(name="stock.csv", data=text.encode())
    return opening.apply(found=found, by=owner, now=now)


def test_the_example_opens_its_bins(owner, now):
    assert take(STOCK, owner, now) == 6
    assert ledger.quantity_in(ledger.bin_numbered(1)) == 1400
    sealant = ledger.bin_numbered(6)
    assert sealant.item.unit == "ml"
    (stay,) = lots_in(sealant)
    # A month means its last day (from memory).
    assert stay.lot.expires_on.isoformat() == "2027-05-31"
    assert leads()[ledger.bin_numbered(1).item_id].days == 6
    assert ledger.flaws() == []


@pytest.mark.slow
def test_the_same_list_again_changes_nothing_even_after_a_pull(owner, now, ask):
    take(STOCK, owner, now)
    place = ledger.single_place("unplanned")
    verbs.pull(bin=ledger.bin_numbered(2), quantity=10, to=place, ask=ask())
    assert opening.preview(name="s.csv", data=STOCK.encode()).changes == []
    corrected = STOCK.replace("510", "530")
    assert take(corrected, owner, now) == 1
    assert ledger.quantity_in(ledger.bin_numbered(2)) == 520


def test_a_bin_never_changes_its_item(owner, now):
    take(STOCK, owner, now)
    found = opening.preview(
        name="s.csv", data=b"bin,callout,quantity\n1,MS20426AD3-4,5\n"
    )
    assert "holds 3/32 flush" in found.bad[0][1]


def test_drills_of_one_size_in_two_forms_are_two_items(owner, now):
    take("kind,size,form,quantity\ndrill,#40,plain,3\ndrill,#40,12 in,2\n", owner, now)
    assert Item.objects.filter(kind="drill", size="#40").count() == 2


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("drill,,plain,3", "needs a size"),
        ("drill,#40,square,3", "comes as"),
        ("hammer,#40,,3", "no kind of bench stock"),
        ("drill,#40,plain,many", "whole number"),
        (",,,3", "names nothing"),
    ],
)
def test_bad_rows_say_what_to_do(owner, now, row, words):
    found = opening.preview(
        name="s.csv", data=f"kind,size,form,quantity\n{row}\n".encode()
    )
    assert words in found.bad[0][1]
    with pytest.raises(Refused, match="1 rows"):
        opening.apply(found=found, by=owner, now=now)


@pytest.fixture
def line(owner, rivets, now):
    """Two packs of 100 on order."""
    order = place_order(
        supplier=supplier_called(name="Hangar supply"),
        asks=[AskLine(rivets.item, 2, 100)],
        placed_on=now.date(),
        by=owner,
    )
    return OrderLine.objects.select_related("order__supplier__place").get(order=order)


def bring(bin, line, ask, pieces, **more):
    return receive(
        bin=bin,
        supplier=line.order.supplier,
        ask=ask(),
        pieces=pieces,
        line=line,
        **more,
    )


def test_part_over_and_short(rivets, line, ask, now):
    assert sum(row.pieces for row in due(now.date())) == 200
    bring(rivets, line, ask, 120)
    assert [row.pieces for row in still_owed()] == [80]
    bring(rivets, line, ask, 90)
    assert still_owed() == []
    assert ledger.quantity_in(rivets) == 40 + 210


def test_short_and_no_more_will_come(rivets, line, ask):
    bring(rivets, line, ask, 120, closes=True)
    assert still_owed() == []


def test_undoing_a_receipt_owes_the_pieces_again(rivets, line, ask):
    done, _receipt = bring(rivets, line, ask, 120)
    undoing.undo(act=done.act, ask=ask())
    assert [row.pieces for row in still_owed()] == [200]
    assert ledger.quantity_in(rivets) == 40


def test_by_weight_with_a_counted_sample(rivets, line, ask):
    # 3/32 flush -3.5 is about 81 mg (computed from geometry, dimensions from memory).
    weighed = WeighedDelivery(Decimal("48.60"), 100, Decimal("8.10"))
    bring(rivets, line, ask, weighed, papers=Papers(lot="R-9"))
    assert ledger.quantity_in(rivets) == 40 + 600
    item = Item.objects.get(pk=rivets.item_id)
    assert (item.mass_is_weighed, item.piece_mass_mg) == (True, Decimal("81.00"))


def test_what_came_by_a_guessed_mass_is_put_right_by_a_sample(rivets, line, ask):
    guess = Item.objects.get(pk=rivets.item_id).piece_mass_mg
    bag = WeighedDelivery(Decimal("8.10"))
    done, _ = bring(rivets, line, ask, bag, papers=Papers(lot="R-9"))
    guessed = int((Decimal(8100) / guess).to_integral_value())
    assert ledger.quantity_in(rivets) == 40 + guessed
    # The true piece weighs a tenth more than was guessed.
    item = Item.objects.get(pk=rivets.item_id)
    said = weigh(item=item, grams=guess * 110 / 1000, pieces=100, ask=ask())
    true = round(guessed / 1.1)
    assert said == [f"bin 12: {guessed} received by a guess are {true}."]
    assert ledger.quantity_in(rivets) == 40 + true
    assert [row.pieces for row in still_owed()] == [200 - true]
    assert lots_in(rivets)[0].lot.name == "R-9"
    acts = ledger.Act.objects.filter(bin=rivets).order_by("pk")
    assert [act.verb for act in acts] == ["count", "receive", "undo", "receive"]
    assert acts.last().at == done.act.at
    # A second sample changes what is weighed, and no delivery that was weighed before.
    assert weigh(item=item, grams=guess * 120 / 1000, pieces=100, ask=ask()) == []
    assert ledger.quantity_in(rivets) == 40 + true
    assert ledger.flaws() == []


def test_a_count_since_outweighs_a_bag_weighed_anew(rivets, line, ask, now):
    bring(rivets, line, ask, WeighedDelivery(Decimal("8.10")))
    later = replace(ask(), now=now + timedelta(hours=1))
    verbs.count(bin=rivets, counted=130, ask=later)
    item = Item.objects.get(pk=rivets.item_id)
    weigh(item=item, grams=Decimal("9.50"), pieces=100, ask=ask())
    assert ledger.quantity_in(rivets) == 130
    assert ledger.flaws() == []


def test_the_wrong_bin_receives_nothing(rivets, line, owner, ask, now):
    take("bin,callout,quantity\n13,MS20426AD3-4,5\n", owner, now)
    with pytest.raises(Refused, match="choose the right bin"):
        bring(ledger.bin_numbered(13), line, ask, 5)
    assert ledger.quantity_in(ledger.bin_numbered(13)) == 5


def test_whatever_changes_what_is_waited_for_has_it_looked_at_anew(rivets, owner, now):
    order = place_order(
        supplier=supplier_called(name="Hollow Oak"),
        asks=[AskLine(rivets.item, 1, 50)],
        placed_on=now.date(),
        by=owner,
    )
    (line,) = order.lines.all()
    changes = (
        lambda: expect(order=order, on=now.date() + timedelta(days=9), by=owner),
        lambda: drop_line(line=line, by=owner, now=now),
        lambda: wait_again(line=line, by=owner),
    )
    for change in changes:
        before = Recheck.objects.get(pk=line.item_id).wanted
        change()
        assert Recheck.objects.get(pk=line.item_id).wanted > before
