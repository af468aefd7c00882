"""Tonight's tray, as a page and as a PDF."""

import io
from datetime import date

import pypdfium2
import pytest
from django.urls import reverse

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.rules import described
from inventory.forecasting.models import Bit
from inventory.forecasting.queries.tray import tray, usual, walking
from inventory.forecasting.rules.bits import BitState
from inventory.labels.rules import pages
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.people.queries import shop
from inventory.planning.actions.importing import apply, preview
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly
from inventory.planning.queries import current_build
from inventory.trade import codes

TODAY = date(2027, 3, 1)
HELD = b"""stage,start,assembly,how_many,callout,each,hole_size,holes,fasten_every,days_held
Fin,2027-03-20,Spar,1,MS20426AD3-3.5,30,#40,30,2,3
Fin,2027-03-20,Rib,1,MS20426AD3-3.5,20,,,,
Fin,2027-03-20,Rib,1,TANK-SEALANT,40,,,,
"""


@pytest.fixture
def held(owner, now):
    """Two assemblies; one drills 30 holes and holds every second of them."""
    sealant = described("sealant", name="Tank sealant")
    item_described(what=sealant, alias="TANK-SEALANT")
    apply(found=preview(name="plan.csv", data=HELD), by=owner, now=now)
    return {row.name: row for row in Assembly.objects.all()}


def stocked(owner, ask, number, spot, count, **what):
    """A bin with so many of what is described."""
    item = item_described(what=described(**what))
    bin = open_bin(item=item, by=owner, number=number, spot=spot)
    verbs.count(bin=bin, counted=count, ask=ask())
    return bin


def text_of(pdf):
    pages_ = pypdfium2.PdfDocument(pdf)
    return " ".join(
        " ".join(page.get_textpage().get_text_range().split()) for page in pages_
    )


@pytest.mark.slow
def test_the_tray_lists_bins_as_one_walks(page, spar, rivets):
    shown = page.get(reverse("tray"), {"assembly": spar.pk})
    (stop,) = shown.context["tray"].stops
    assert (stop.take, stop.bin) == (30, rivets)
    assert b"bin 12" in shown.content
    assert b"No bit is fitted" in shown.content
    assert b"goggles" in shown.content
    printed = page.get(reverse("tray-sheet"), {"assembly": spar.pk}).content
    (picture,) = pages.rendered(printed, 300)
    code = codes.make("S", spar.pk)
    for found in pages.readings(picture):
        # No shop's own name is set here: the square holds the code alone.
        assert {code, rivets.code} == set(found)
    assert "3/32 flush, 7/32 long" in text_of(printed)


def test_without_an_assembly_there_is_nothing_to_print(page):
    assert b"No assembly is open" in page.get(reverse("tray")).content
    assert page.get(reverse("tray-sheet")).status_code == 400


def test_spots_are_walked_by_their_numbers():
    spots = ["rack A, drawer 10", "Rack A, drawer 2", "", "rack B"]
    order = sorted(spots, key=lambda spot: walking(spot, 1))
    assert order == ["", "Rack A, drawer 2", "rack A, drawer 10", "rack B"]


def test_two_assemblies_share_a_stop_and_what_lacks_is_said(held, rivets, owner, ask):
    """50 asked, 40 in the tin, 4 in a jar: 6 are in no bin."""
    jar = open_bin(item=rivets.item, by=owner, number=3, spot="bench, jar")
    verbs.count(bin=jar, counted=4, ask=ask())
    found = tray(list(held.values()), shop(), TODAY)
    rows = [(stop.bin.number, stop.take) for stop in found.stops]
    assert rows == [(3, 4), (12, 40)]
    lacking = {row.item.pk: row.quantity for row in found.missing}
    assert lacking[rivets.item_id] == 6
    assert [place for place, _stops in found.places] == ["bench", "rack A"]


def test_one_bin_that_holds_all_is_one_stop_with_its_spare(held, rivets, owner, ask):
    """The expected spoilage is taken on top where the bin has it."""
    verbs.count(bin=rivets, counted=500, ask=ask())
    jar = open_bin(item=rivets.item, by=owner, number=3, spot="bench")
    verbs.count(bin=jar, counted=4, ask=ask())
    (stop,) = tray(list(held.values()), shop(), TODAY).stops
    assert (stop.bin, stop.take) == (rivets, 50)
    assert 1 <= stop.spare <= 10


def test_what_was_pulled_already_is_not_fetched_again(held, rivets, owner, now, ask):
    spar = held["Spar"]
    place = place_to_pull_for(assembly=spar, by=owner, now=now)
    verbs.pull(bin=rivets, quantity=12, to=place, ask=ask())
    (stop,) = tray([spar], shop(), TODAY).stops
    assert stop.take == 18
    assert usual(current_build()) == [Assembly.objects.get(pk=spar.pk)]


@pytest.mark.slow
def test_temporary_fasteners_come_from_every_form_that_goes_through(
    held, rivets, owner, ask
):
    """15 to set of the size that a #40 hole takes: 10 standard, the rest short."""
    tools = {"kind": "temporary_fastener", "size": "3/32"}
    stocked(owner, ask, 59, "tool wall", 10, form="standard", **tools)
    stocked(owner, ask, 60, "tool wall", 3, form="short", **tools)
    stocked(owner, ask, 63, "tool wall", 24, form="edge clamp", **tools)
    found = tray([held["Spar"]], shop(), TODAY)
    taken = [(stop.bin.number, stop.take) for stop in found.stops]
    assert taken == [(12, 30), (59, 10), (60, 3)]
    (size,) = found.holds
    assert (size.size, size.quantity, size.here) == ("3/32", 15, 13)
    assert not size.is_enough
    assert "temporary fasteners" in found.topics


@pytest.mark.slow
def test_a_worn_bit_says_take_a_new_one_and_where_it_is(held, owner, ask, rivets):
    drills = stocked(owner, ask, 64, "chest", 5, kind="drill", size="#40", form="plain")
    (row,) = tray([held["Spar"]], shop(), TODAY).drills
    assert row.bit is None
    assert row.fit_new
    assert row.fresh == [drills]
    bit = Bit.objects.create(number=7, item=drills.item, state=BitState.FITTED)
    (row,) = tray([held["Spar"]], shop(), TODAY).drills
    assert row.bit == bit
    assert row.holes == pytest.approx(30)
    assert not row.fit_new


@pytest.mark.slow
def test_sealant_is_mixed_only_where_the_plan_asks_it(page, held, owner, ask, rivets):
    """By its own unit; without it nobody is told about isocyanates."""
    item = item_for_callout(text="TANK-SEALANT")
    box = open_bin(item=item, by=owner, number=77, spot="cold box")
    verbs.count(bin=box, counted=470, ask=ask())
    asked = [("assembly", row.pk) for row in held.values()]
    query = "&".join(f"{name}={key}" for name, key in asked)
    shown = page.get(f"{reverse('tray')}?{query}")
    assert b"40 ml" in shown.content
    assert b"isocyanates" in shown.content
    printed = text_of(page.get(f"{reverse('tray-sheet')}?{query}").content)
    assert "Sealant to mix" in printed
    assert "40 ml" in printed
    assert "Open one of these at the bench" in printed
    spar = page.get(reverse("tray"), {"assembly": held["Spar"].pk})
    assert b"isocyanates" not in spar.content


def test_a_tray_reads_little(held, rivets, django_assert_max_num_queries):
    """However many bins there are."""
    settled = shop()
    rows = list(Assembly.objects.select_related("stage", "place"))
    with django_assert_max_num_queries(40):
        tray(rows, settled, TODAY)


@pytest.mark.slow
def test_the_sheet_fits_a_letter_where_that_is_the_paper(page, spar, rivets):
    """What is remembered with the labels holds for lists too."""
    sent = {"sheet": "letter", "dpi": "203", "skip": "0", "right": "0", "down": "0"}
    answer = page.post(reverse("labels"), {**sent, "paper": "letter", "keep": "1"})
    assert answer.status_code == 302
    for address in (
        reverse("tray-sheet"),
        reverse("cards"),
        reverse("assembly-sheet", args=[spar.pk]),
    ):
        pdf = page.get(address).content
        size = pypdfium2.PdfDocument(io.BytesIO(pdf))[0].get_size()
        assert [round(side) for side in size] == [612, 792]
