"""Pictures of the forecast: drawn, and never without their figures."""

from datetime import date, timedelta
from xml.etree import ElementTree

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.catalog.actions import item_for_callout
from inventory.forecasting.actions import fit_from_bin
from inventory.forecasting.queries.pictures import (
    LeftAfter,
    Parcel,
    RunOut,
    free_first,
    neighbours,
    pool_days,
    run_out,
    spoilage_days,
)
from inventory.forecasting.queries.readiness import readiness
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.ordering.actions.placing import AskLine, place_order, supplier_called
from inventory.planning.actions import importing
from inventory.planning.actions.working import close, place_to_pull_for
from inventory.planning.models import Assembly, Stage
from inventory.web.pictures import charts
from inventory.web.pictures.paper import NAMES, Paper
from tests.forecasting.test_why_tools import stocked

pytestmark = pytest.mark.django_db


@pytest.fixture
def item(client, owner, now, rivets):
    """40 in bin 12; two stages ask 30 each, and hold 60 fasteners at once."""
    today = timezone.localdate()
    text = (
        "stage,start,assembly,callout,each,hole_size,holes,operation,fasten_every,"
        "days_held\n"
        f"Fin,{today + timedelta(days=20)},Skin,AN426AD3-3.5,30,#40,60,open,2,30\n"
        f"Rudder,{today + timedelta(days=40)},Skin,AN426AD3-3.5,30,#40,90,open,3,30\n"
    )
    found = importing.preview(name="plan.csv", data=text.encode())
    importing.apply(found=found, by=owner, now=now)
    client.force_login(owner)
    return rivets.item


def pictures(text):
    """Every picture of a page, as elements."""
    found = [
        ElementTree.fromstring(f"<svg{each.partition('</svg>')[0]}</svg>")
        for each in text.split("<svg")[1:]
    ]
    return [each for each in found if each.get("class") in charts.SIZES]


def opened(client, name, *args):
    page = client.get(reverse(name, args=args)).content.decode()
    return page, pictures(page)


def marks(picture):
    return [each.get("aria-label") for each in picture.iter() if each.get("tabindex")]


@pytest.mark.slow
def test_the_fan_falls_from_stage_to_stage_and_spreads(client, item):
    rows = run_out(readiness(timezone.localdate()), item).rows
    assert [row.stage for row in rows] == ["Fin", "Rudder"]
    for row in rows:
        assert list(row.left) == sorted(row.left)
    spread = [row.left[-1] - row.left[0] for row in rows]
    assert spread[0] <= spread[1]
    # 40 there, 30 and then 60 asked; the best builder spoils none.
    assert [row.left[-1] for row in rows] == [10, -20]
    page, drawn = opened(client, "item-run-out", item.pk)
    assert "Left at each stage" in page
    assert "-20" in page
    assert [each.get("class") for each in drawn] == list(charts.SIZES)
    for each in drawn:
        assert [said.partition(":")[0] for said in marks(each)] == ["1", "2"]
        assert "-20" in marks(each)[1]


@pytest.mark.slow
def test_what_is_due_by_a_stages_end_is_counted_and_marked(client, owner, item):
    today = timezone.localdate()
    order = place_order(
        supplier=supplier_called(name="Fernhollow Fasteners"),
        asks=[AskLine(item, 1, 50)],
        placed_on=today,
        by=owner,
    )
    (parcel,) = run_out(readiness(today), item).parcels
    assert parcel.pieces == 50
    assert parcel.day == order.expected_on
    rows = run_out(readiness(today), item).rows
    assert [row.left[-1] for row in rows] == [60, 30]
    _page, drawn = opened(client, "item-run-out", item.pk)
    assert any(said.startswith("50 come on") for said in marks(drawn[0]))


TODAY = date(2027, 3, 1)


def left_after(days, left, came=0):
    return LeftAfter("Fin", TODAY + timedelta(days=days), (left,) * 5, came)


def test_between_two_stages_use_is_even_and_a_parcel_comes_at_once():
    rows = [left_after(10, 60), left_after(30, 120, 100)]
    parcels = [Parcel(TODAY + timedelta(days=20), 100)]
    path = RunOut(TODAY, 100, parcels, rows).through(2)
    assert [((day - TODAY).days, left) for day, left in path] == [
        (0, 100),
        (10, 60),
        (20, 40),
        (20, 140),
        (30, 120),
    ]


def test_of_two_stages_that_end_on_one_day_the_last_is_what_is_left():
    rows = [left_after(0, 70), left_after(0, 40), left_after(10, 20)]
    path = RunOut(TODAY, 100, [], rows).through(0)
    assert [left for _day, left in path] == [40, 20]


@pytest.mark.slow
def test_a_stage_that_should_be_over_is_drawn_from_today_on(client, item):
    today = timezone.localdate()
    Stage.objects.update(planned_start=today - timedelta(days=700))
    found = run_out(readiness(today), item)
    assert all(row.day > today for row in found.rows)
    assert [day for day, _left in found.through(4)] == [
        today,
        *(row.day for row in found.rows),
    ]


def test_what_comes_after_the_last_stage_is_not_drawn():
    parcels = [Parcel(TODAY + timedelta(days=90), 100)]
    found = RunOut(TODAY, 100, parcels, [left_after(10, 60)])
    assert [left for _day, left in found.through(0)] == [100, 60]
    assert "come on" not in charts.fan("3/32 flush", found).sizes[0]


@pytest.mark.slow
def test_the_pool_through_time_and_what_to_rivet_first(client, item):
    (row,) = pool_days(timezone.localdate())
    assert (row.size, row.owned) == ("3/32", 0)
    assert [held for _day, held in row.held] == [30, 60, 30, 0]
    assert [(each.assembly.stage.name, each.quantity) for each in row.by] == [
        ("Fin", 30),
        ("Rudder", 30),
    ]
    (first,) = free_first(timezone.localdate())
    assert first.quantity == 30
    page, drawn = opened(client, "pool")
    assert "Rivet first" in page
    assert "60 held" in " ".join(marks(drawn[0]))
    assert "60 more than are owned" in " ".join(marks(drawn[0]))
    assert "30: Skin" in "".join(drawn[1].itertext())


@pytest.mark.slow
def test_the_grid_shows_words_and_not_only_colours(client, item):
    page = client.get(reverse("grid")).content.decode()
    assert "short" in page
    assert "3/32 flush" in page.partition("<details>")[0]


@pytest.mark.slow
def test_what_no_stage_lacks_stands_last(client, owner, ask, item):
    more = open_bin(item=item, by=owner, number=13)
    verbs.count(bin=more, counted=9000, ask=ask())
    page = client.get(reverse("grid")).content.decode()
    shown, _summary, hidden = page.partition("more are all right")
    assert "3/32 flush" in hidden
    assert "3/32 flush" not in shown


def test_bits_are_drawn_where_there_are_some(client, owner, ask, item):
    assert opened(client, "bits")[1] == []
    box = stocked(30, "drill", 2, owner, ask)
    fit_from_bin(bin=box, ask=ask())
    _page, drawn = opened(client, "bits")
    assert "of all bits last so long" in marks(drawn[0])[0]


def test_lengths_stand_side_by_side_with_what_counts_found(client, owner, ask, item):
    assert neighbours(item, timezone.localdate()) == []
    longer = item_for_callout(text="MS20426AD3-4")
    other = open_bin(item=longer, by=owner, number=13)
    verbs.count(bin=other, counted=100, ask=ask())
    verbs.count(bin=other, counted=93, ask=ask())
    item_for_callout(text="MS20426AD3-5")  # neither stocked nor asked for
    item_for_callout(text="MS20470AD3-4")  # another head
    rows = neighbours(item, timezone.localdate())
    assert [(row.item, row.need, row.here, row.found) for row in rows] == [
        (item, 60, 40, 0),
        (longer, 0, 93, -7),
    ]
    assert [row.lacks for row in rows] == [20, 0]
    page, drawn = opened(client, "item", item.pk)
    said = "".join(drawn[1].itertext())
    assert "this: 3/32 flush" in said
    assert "asked 0, here 93" in said
    # What tells of a tin that was mixed up is read whole on a phone, too.
    for each in drawn:
        assert "counts found 7 missing" in "".join(each.itertext())
    assert "7 missing" in page


@pytest.mark.slow
def test_spoilage_is_drawn_by_the_day_of_closing(client, owner, ask, item, rivets):
    assert spoilage_days() == []
    fin = Assembly.objects.get(stage__name="Fin")
    place = place_to_pull_for(assembly=fin, by=owner, now=ask().now)
    verbs.pull(bin=rivets, quantity=33, to=place, ask=ask())
    close(assembly=fin, by=owner, now=ask().now)
    (row,) = spoilage_days()
    (closed,) = row.closed
    assert (closed.day, closed.good, closed.bad) == (
        timezone.localdate(ask().now),
        30,
        3,
    )
    assert closed.share == pytest.approx(3 / 33)
    page, drawn = opened(client, "spoilage")
    assert "3 spoilt, 30 set" in marks(drawn[0])[0]
    assert row.name in page


def test_parcels_cost_what_the_plan_says():
    rows = [
        {
            "name": "Osier Lane",
            "goods": "2.04",
            "shipping": "7.50",
            "hazard_fee": "0",
            "total": "9.54",
        }
    ]
    picture = charts.parcels(rows, "")
    said = "".join(ElementTree.fromstring(picture.sizes[0]).itertext())
    assert "9.54, Osier Lane" in said
    assert "goods 2.04, shipping 7.50" in said
    assert "fee" not in said
    assert not picture.has_marks


# What people write: markup, what a formula begins with, letters no font of ours has.
@pytest.mark.parametrize("name", ["<b>&'\"", "$x_1$", "@7", "翼肋 \u202e", "w" * 200])
def test_what_people_wrote_is_only_text(name):
    paper = Paper("words", 300, 100)
    paper.axes.set_xlim(0, 1)
    paper.word(0, 0.5, name)
    paper.mark(0.5, 0.5, name)
    drawn = ElementTree.fromstring(paper.drawn("narrow", name))
    (text,) = (each for each in drawn.iter("text") if (each.text or "")[:1] == name[0])
    assert text.text == name or (len(name) > 100 and text.text.endswith("w…"))
    assert len(text.text) * 7 < 300
    assert marks(drawn) == [name]
    assert {each.tag for each in drawn.iter()} <= {
        *("svg", "g", "defs", "path", "text", "use", "clipPath", "rect", "title")
    }


def test_nothing_of_a_picture_is_what_a_page_forbids_or_has_twice():
    rows = [left_after(10, 60), left_after(30, 10)]
    drawn = charts.fan("3/32 flush", RunOut(TODAY, 100, [], rows)).sizes
    assert 'style="' not in drawn[0]
    names = [
        {each.get("id") for each in ElementTree.fromstring(one).iter()} - {None}
        for one in drawn
    ]
    for one, own in zip(drawn, names, strict=True):
        for used in one.split("url(#")[1:]:
            assert used.partition(")")[0] in own
    assert not names[0] & names[1]
    colours = {part.partition(")")[0] for part in drawn[0].split("var(--")[1:]}
    assert {"act", "soft"} <= colours <= set(NAMES)
    assert "#" not in drawn[0].replace("url(#", "").replace('href="#', "")
