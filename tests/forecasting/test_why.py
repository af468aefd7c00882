"""Why a number: every figure opens to plan, bins, orders and record, and adds up."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from inventory.forecasting.actions.looking import look_into
from inventory.forecasting.queries.readiness import (
    beliefs,
    readiness,
    shop_learned,
    stock,
)
from inventory.forecasting.queries.recounts import recounts
from inventory.forecasting.queries.report import as_data
from inventory.forecasting.queries.why import why
from inventory.forecasting.rules.learning import ClosedRow, learned
from inventory.ledger.actions import verbs
from inventory.ledger.actions.posting import Ask
from inventory.ledger.queries import single_place
from inventory.ledger.queries.counts import count_record
from inventory.ledger.rules.looking import Seen, Sight
from inventory.people.models import User
from inventory.planning.actions import importing

pytestmark = pytest.mark.django_db
TODAY = date(2027, 3, 1)


@pytest.fixture
def item(rivets, owner, now):
    """40 in bin 12 by the record; a stage asks for 34, a later one for 30."""
    text = (
        "stage,start,assembly,callout,each\n"
        f"Fin,{TODAY + timedelta(days=20)},Skin,AN426AD3-3.5,34\n"
        f"Rudder,{TODAY + timedelta(days=60)},Skin,MS20426AD3-3.5,30\n"
    )
    found = importing.preview(name="plan.csv", data=text.encode())
    importing.apply(found=found, by=owner, now=now)
    return rivets.item


def parts_of(reason, words):
    return [part for part in reason.parts if words in part.words]


@pytest.mark.slow
def test_a_chance_opens_to_what_it_was_reckoned_from(item):
    line = {
        row.stage.name: line for row in readiness(TODAY).stages for line in row.lines
    }["Rudder"]
    found = why(item, TODAY)
    (rudder,) = parts_of(found, "end of Rudder")
    assert rudder.number == pytest.approx(line.chance_short, abs=1e-4)
    (through,) = parts_of(rudder, "up to and with it")
    assert through.number == 64
    (needed,) = parts_of(found, "needed by the plan")
    assert needed.number == sum(part.number for part in needed.parts) == 64
    (here,) = parts_of(found, "on hand by the record")
    assert here.number == 40
    assert "bin 12" in here.parts[0].words


@pytest.mark.slow
def test_the_same_in_json_and_on_the_page(item, owner, client):
    client.force_login(owner)
    data = client.get(f"/api/v1/items/{item.pk}/why").json()
    assert data == why(item, data_day()).as_data()
    page = client.get(reverse("item-why", args=[item.pk])).content.decode()
    assert "Why these numbers?" in page
    assert "on hand by the record" in page


def data_day():
    return date.today()  # noqa: DTZ011 - the page's own day


def test_the_record_moves_the_belief_and_is_shown(item, owner, now):
    before = beliefs([item])[item.pk]
    place = single_place("unplanned")
    verbs.pull(bin=item.bins.get(), quantity=5, to=place, ask=Ask(owner, now))
    assert beliefs([item])[item.pk] == before
    assert shop_learned().record == {}


@pytest.mark.slow
def test_a_bin_whose_recount_could_change_the_order_is_named(item, rivets, owner, now):
    for _ in range(12):
        place, ask = single_place("unplanned"), Ask(owner, now)
        verbs.pull(bin=rivets, quantity=20, to=place, ask=ask)
        verbs.give_back(bin=rivets, quantity=20, from_=place, ask=ask)
    doubt = stock([item.pk], count_record())[item.pk].doubt
    assert doubt > 10
    (row,) = recounts(readiness(TODAY))
    assert (row.bin, row.balance, row.stage) == (rivets, 40, "Fin")
    assert as_data(readiness(TODAY))["recounts"][0]["bin"] == rivets.number
    look_into(bin=rivets, seen=Seen(Sight.ABOUT, 44), ask=Ask(owner, now))
    (seen,) = parts_of(why(item, TODAY), "on hand by the record")
    assert ": about 44, give or take" in seen.parts[0].words
    assert stock([item.pk], count_record())[item.pk].doubt < doubt / 1.4
    verbs.count(bin=rivets, counted=40, ask=Ask(owner, now))
    assert stock([item.pk], count_record())[item.pk].doubt < 1
    assert recounts(readiness(TODAY)) == []


@pytest.mark.slow
def test_whose_hand_is_reckoned_with_is_said(item, owner, monkeypatch):
    other = User.objects.create_user("bracken", password="a phrase long enough")
    name = item.spoilage_class
    rows = [ClosedRow(name, 100, 1, owner.pk), ClosedRow(name, 90, 4, other.pk)] * 5
    monkeypatch.setattr(
        "inventory.forecasting.queries.why.shop_learned",
        lambda: learned([*rows, *[ClosedRow(name, 90, 4, other.pk)] * 6]),
    )
    (spoiled,) = parts_of(why(item, TODAY), "per cent spoiled, as believed of")
    (careful,) = parts_of(spoiled, "by marlow")
    (rough,) = parts_of(spoiled, "by bracken, whose hand did most")
    assert careful.number < rough.number
    assert spoiled.number == rough.number
    assert "spoiled of 505" in careful.source
