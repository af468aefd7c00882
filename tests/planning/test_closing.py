"""Before the skin is closed: mixed tins are found, tools are accounted for.

The tale of a tin 45 over and its neighbour 45 under is builders' experience: common
practice, no source.
"""

import io

import pytest
from django.db import DatabaseError, transaction
from PIL import Image

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.rules import Description
from inventory.errors import Refused
from inventory.ledger import queries as ledger
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import lot_of, open_bin
from inventory.ledger.actions.evidence import keep_photograph
from inventory.ordering.actions.placing import supplier_called
from inventory.photos.opening import evidence_photo
from inventory.planning.actions import importing
from inventory.planning.actions.closing import close_after_looking
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly, CloseUp
from inventory.planning.queries.closing import close_up
from inventory.planning.rules.closing import Left, Used, swaps

pytestmark = pytest.mark.django_db
PLAN = "stage,assembly,callout,each\nFin,Skin,MS20426AD3-3.5,100\nFin,Skin,MS20426AD3-4,60\n"


@pytest.fixture
def skin(owner, now):
    found = importing.preview(name="plan.csv", data=PLAN.encode())
    importing.apply(found=found, by=owner, now=now)
    return Assembly.objects.get()


@pytest.fixture
def stock(owner, ask):
    """Bins of both lengths, and of temporary fasteners."""
    holder = item_described(
        what=Description(
            kind="temporary_fastener", size="3/32", form="standard", unit="pcs"
        )
    )
    items = [
        item_for_callout(text="MS20426AD3-3.5"),
        item_for_callout(text="MS20426AD3-4"),
        holder,
    ]
    found = [
        open_bin(item=item, by=owner, number=at) for at, item in enumerate(items, 12)
    ]
    for bin in found:
        verbs.count(bin=bin, counted=500, ask=ask())
    return found


def pull(stock, skin, owner, now, ask, *quantities):
    place = place_to_pull_for(assembly=skin, by=owner, now=now)
    for bin, quantity in zip(stock, quantities, strict=True):
        if quantity:
            verbs.pull(bin=bin, quantity=quantity, to=place, ask=ask())


def test_a_tin_over_and_its_neighbour_under_is_found(stock, skin, owner, now, ask):
    pull(stock, skin, owner, now, ask, 55, 105, 0)
    (swap,) = close_up(skin).swaps
    assert swap.count == 45
    assert "is 45 over" in swap.sentence
    assert "is 45 under" in swap.sentence
    assert "half a length longer" in swap.sentence


def test_what_nobody_asked_for_is_over(stock, skin, owner, now, ask):
    other = open_bin(item=item_for_callout(text="AN3-5A"), by=owner, number=20)
    verbs.count(bin=other, counted=9, ask=ask())
    pull([*stock, other], skin, owner, now, ask, 100, 59, 3, 1)
    looked = close_up(skin)
    found = {row.item: (row.need, row.over, row.under) for row in looked.rows}
    assert found == {
        stock[0].item_id: (100, 0, 0),
        stock[1].item_id: (60, 0, 1),
        stock[2].item_id: (0, 3, 0),
        other.item_id: (0, 1, 0),
    }
    assert [row.item for row in looked.tools] == [stock[2].item_id]
    assert [row.item for row in looked.surplus] == [other.item_id]
    assert [row.item for row in looked.missing] == [stock[1].item_id]


def test_no_alarm_for_spoilage_or_for_what_looks_different():
    exact = Used(3, "-5", 9, 9)
    assert (exact.over, exact.under) == (0, 0)
    short, long = Used(1, "-3.5", 100, 99), Used(2, "-4", 60, 61)
    assert swaps([short, long], lambda _a, _b: "half a length longer") == []
    mixed = [Used(1, "-3.5", 100, 60), Used(2, "-4", 60, 100)]
    assert swaps(mixed, lambda _a, _b: "") == []
    assert [each.count for each in swaps(mixed, lambda _a, _b: "longer")] == [40]


@pytest.mark.slow
def test_nothing_is_closed_while_tools_are_out(stock, skin, owner, now, ask):
    pull(stock, skin, owner, now, ask, 100, 60, 40)
    with pytest.raises(Refused) as caught:
        close_after_looking(assembly=skin, left=[], by=owner, now=now)
    assert caught.value.code == "planning.tools_out"
    holder = stock[2].item_id
    with pytest.raises(Refused):
        close_after_looking(assembly=skin, left=[Left(holder, 38)], by=owner, now=now)
    with pytest.raises(Refused) as caught:
        close_after_looking(assembly=skin, left=[Left(holder, 41)], by=owner, now=now)
    assert caught.value.code == "planning.too_many"
    assert Assembly.objects.get().state == "in_work"
    assert ledger.quantity_in(stock[2]) == 460
    close_after_looking(assembly=skin, left=[Left(holder, 40)], by=owner, now=now)
    assert ledger.quantity_in(stock[2]) == 500


@pytest.mark.slow
def test_what_is_left_inside_is_named_and_booked(stock, skin, owner, now, ask):
    pull(stock, skin, owner, now, ask, 104, 60, 40)
    left = [Left(stock[2].item_id, 38, "inside"), Left(stock[0].item_id, 3)]
    done = close_after_looking(
        assembly=skin, left=left, by=owner, now=now, note="Looked with a mirror."
    )
    assert ledger.quantity_in(stock[2]) == 498
    assert ledger.quantity_in(stock[0]) == 399
    assert done.record["tools"] == [
        {"words": stock[2].item.title, "out": 40, "back": 38, "fate": "left inside"}
    ]
    used = {row["words"]: row["used"] for row in done.record["items"]}
    assert used == {stock[0].item.title: 101, stock[1].item.title: 60}
    assert done.record["people"] == ["marlow"]
    assert ledger.flaws() == []


@pytest.mark.slow
def test_the_record_freezes_the_lots(stock, skin, owner, now, ask):
    supplier = supplier_called(name="Hangar supply").place
    lot = lot_of(item=stock[0].item, name="R-5", paper="cert 9")
    verbs.receive(bin=stock[0], quantity=50, supplier=supplier, ask=ask(), lot=lot)
    pull(stock, skin, owner, now, ask, 102, 60, 0)
    other = open_bin(item=stock[0].item, by=owner, number=20)
    place = Assembly.objects.get().place
    verbs.give_back(bin=other, quantity=1, from_=place, ask=ask())
    later = lot_of(item=stock[0].item, name="R-6", paper="")
    verbs.receive(bin=stock[0], quantity=50, supplier=supplier, ask=ask(), lot=later)
    done = close_after_looking(assembly=skin, left=[], by=owner, now=now)
    rows = {row["words"]: row for row in done.record["items"]}
    assert rows[stock[0].item.title]["lots"] == ["R-5 (cert 9)"]
    assert rows[stock[0].item.title]["bins"] == [12]
    assert rows[stock[0].item.title]["used"] == 101


def test_the_database_itself_keeps_the_record(skin, owner, now):
    place_to_pull_for(assembly=skin, by=owner, now=now)
    row = close_after_looking(assembly=skin, left=[], by=owner, now=now)
    for change in (
        lambda: CloseUp.objects.filter(pk=row.pk).update(note="nicer"),
        row.delete,
    ):
        with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
            change()


@pytest.mark.slow
def test_a_photograph_is_made_anew_and_kept_once(skin, owner, now, tmp_path):
    exif = Image.Exif()
    exif[0x010E] = "where it was taken"
    out = io.BytesIO()
    Image.new("RGB", (3000, 40), (9, 90, 200)).save(out, "JPEG", exif=exif.tobytes())
    picture = evidence_photo(out.getvalue())
    assert b"where it was taken" not in picture
    assert Image.open(io.BytesIO(picture)).size[0] == 2000
    rows = [
        keep_photograph(
            assembly=skin.pk,
            picture=picture,
            caption="rib",
            folder=tmp_path,
            by=owner,
            now=now,
        )
        for _twice in range(2)
    ]
    assert rows[0] == rows[1]
    assert skin.photographs.count() == 1
