"""Pictures of the forecast: drawn, and never without their figures."""

from datetime import timedelta
from xml.etree import ElementTree

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.forecasting.queries.pictures import free_first, pool_days, run_out
from inventory.forecasting.queries.readiness import readiness
from inventory.planning.actions import importing

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


def svg(client, name, *args):
    answer = client.get(reverse(name, args=args))
    assert answer["content-type"] == "image/svg+xml"
    root = ElementTree.fromstring(answer.content)
    assert root.tag.endswith("svg")
    return answer.content.decode()


@pytest.mark.slow
def test_the_fan_falls_from_stage_to_stage_and_spreads(client, item):
    rows = run_out(readiness(timezone.localdate()), item)
    assert [row.stage for row in rows] == ["Fin", "Rudder"]
    for row in rows:
        assert list(row.left) == sorted(row.left)
    spread = [row.left[-1] - row.left[0] for row in rows]
    assert spread[0] <= spread[1]
    # 40 there, 30 and then 60 asked; the best builder spoils none.
    assert [row.left[-1] for row in rows] == [10, -20]
    page = client.get(reverse("item-run-out", args=[item.pk])).content.decode()
    assert "Left at each stage" in page
    assert "-20" in page
    assert "left over" in svg(client, "item-run-out-svg", item.pk)


@pytest.mark.slow
def test_the_pool_through_time_and_what_to_rivet_first(client, item):
    (row,) = pool_days(timezone.localdate())
    assert (row.size, row.owned) == ("3/32", 0)
    assert [held for _day, held in row.held] == [30, 60, 30, 0]
    (first,) = free_first(timezone.localdate())
    assert first.quantity == 30
    page = client.get(reverse("pool")).content.decode()
    assert "Rivet first" in page
    assert "60" in page
    assert "owned" in svg(client, "pool-svg", 0)
    assert client.get(reverse("pool-svg", args=[9])).status_code == 404


@pytest.mark.slow
def test_the_grid_shows_words_and_not_only_colours(client, item):
    page = client.get(reverse("grid")).content.decode()
    assert "short" in page
    assert "3/32 flush" in page


def test_bits_are_drawn_even_where_there_are_none(client, item):
    assert "half of all bits" in svg(client, "bits-svg")
