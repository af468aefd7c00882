"""Stages and assemblies at work: dated, skipped, put in order, closed and re-opened."""

from datetime import date

import pytest

from inventory.errors import Refused
from inventory.ledger.actions import verbs
from inventory.ledger.actions.posting import settle_rechecks
from inventory.ledger.queries import rechecks
from inventory.planning.actions import editing, importing, working
from inventory.planning.models import Assembly, Stage
from inventory.planning.queries import (
    asked_at_once,
    current_build,
    dated,
    drillings,
    open_assemblies,
    remaining_by_stage,
    waiting_for,
    why_needed,
)
from inventory.planning.queries.spoilage import spoilage_record
from inventory.planning.rules.whatif import WhatIf

pytestmark = pytest.mark.django_db
PLAN = """stage,start,assembly,how_many,callout,each,hole_size,holes
Fin,2027-03-20,Spar,2,MS20426AD3-3.5,30,#40,30
Fin,2027-03-20,Skin,1,AN426AD3-3.5,50,,
Rudder,,Frame,1,MS20426AD3-3.5,7,#40,7
Wing,2027-05-01,Rib,1,MS20470AD4-5,9,#30,9
"""


@pytest.fixture
def stages(owner, now, rivets):
    """Three stages, of which two ask for the rivets of bin 12."""
    found = importing.preview(name="plan.csv", data=PLAN.encode())
    importing.apply(found=found, by=owner, now=now)
    settle_rechecks({row.item_id: row.wanted for row in rechecks()})
    return list(Stage.objects.all())


def named(name):
    return Assembly.objects.get(name=name)


def starts():
    return {row.name: f"{row.planned_start}" for row in Stage.objects.all()}


def order():
    return list(Stage.objects.values_list("position", "name"))


@pytest.mark.parametrize(
    ("start", "shifts", "moved", "wing"),
    [
        (date(2027, 3, 30), True, 2, "2027-05-11"),
        (date(2027, 3, 30), False, 1, "2027-05-01"),
        (None, True, 1, "2027-05-01"),
    ],
)
def test_what_follows_moves_as_far_where_it_is_dated(
    stages, owner, now, start, shifts, moved, wing
):
    fin = stages[0]
    assert (
        editing.redate(stage=fin, start=start, by=owner, now=now, shift_later=shifts)
        == moved
    )
    assert starts() == {"Fin": f"{start}", "Rudder": "None", "Wing": wing}
    assert {row.wide for row in rechecks()} == {True}
    assert len(rechecks()) == moved


def test_what_comes_before_stays(stages, owner, now):
    wing = stages[2]
    start = date(2027, 6, 1)
    assert (
        editing.redate(stage=wing, start=start, by=owner, now=now, shift_later=True)
        == 1
    )
    assert starts()["Fin"] == "2027-03-20"


@pytest.mark.parametrize(
    ("at", "places", "names"),
    [
        (0, 1, ["Rudder", "Fin", "Wing"]),
        (2, -9, ["Wing", "Fin", "Rudder"]),
        (0, 9, ["Rudder", "Wing", "Fin"]),
    ],
)
def test_a_stage_moves_within_the_plan(stages, owner, now, at, places, names):
    editing.move_stage(stage=stages[at], places=places, by=owner, now=now)
    assert order() == list(enumerate(names, start=1))
    assert len(rechecks()) == 2


def test_a_skipped_stage_asks_for_nothing(stages, owner, now, rivets):
    build, item = current_build(), rivets.item_id
    assert waiting_for([item])[item] == ["Fin / Spar", "Fin / Skin", "Rudder / Frame"]
    assert why_needed(item).number == 30 * 2 + 50 + 7
    assert [part.words for part in why_needed(item).parts] == [
        "Fin / Spar: 30 each, made 2 times",
        "Fin / Skin: 50 each",
        "Rudder / Frame: 7 each",
    ]
    editing.skip(stage=stages[0], skipped=True, by=owner, now=now)
    assert [row.wide for row in rechecks()] == [True]
    assert waiting_for([item]) == {item: ["Rudder / Frame"]}
    assert why_needed(item).number == 7
    assert set(remaining_by_stage(build)) == {stages[1].pk, stages[2].pk}
    assert [row.holes_each for row in drillings(build)] == [7, 9]
    assert [row.name for row in open_assemblies(build)] == ["Frame", "Rib"]
    assert [row.over for row in dated(build, date(2027, 3, 1), 28)] == [1, 0, 0]


def test_a_closed_assembly_is_open_again_when_it_is_re_opened(
    stages, owner, now, rivets
):
    skin = named("Skin")
    with pytest.raises(Refused, match="only an assembly in work"):
        working.close(assembly=skin, by=owner, now=now)
    working.place_to_pull_for(assembly=skin, by=owner, now=now)
    assert open_assemblies(current_build())[0].name == "Skin"
    working.close(assembly=skin, by=owner, now=now)
    assert waiting_for([rivets.item_id])[rivets.item_id][0] == "Fin / Spar"
    assert asked_at_once()[rivets.item_id] == 60
    with pytest.raises(Refused, match="only an assembly in work"):
        working.close(assembly=skin, by=owner, now=now)
    settle_rechecks({row.item_id: row.wanted for row in rechecks()})
    working.reopen(assembly=skin, by=owner, now=now)
    assert (named("Skin").state, named("Skin").closed_by) == ("in_work", None)
    assert [row.wide for row in rechecks()] == [True]
    with pytest.raises(Refused, match="nothing to re-open"):
        working.reopen(assembly=skin, by=owner, now=now)


def test_scrap_at_an_open_assembly_is_judged_by_what_is_there(
    stages, owner, now, rivets, ask
):
    place = working.place_to_pull_for(assembly=named("Skin"), by=owner, now=now)
    verbs.pull(bin=rivets, quantity=20, to=place, ask=ask())
    assert spoilage_record() == []
    verbs.scrap(bin=rivets, quantity=1, from_=place, ask=ask())
    (row,) = spoilage_record()
    assert (row.item_id, row.good, row.bad) == (rivets.item_id, 19, 1)
    assert row.by == owner.pk


@pytest.mark.parametrize(
    ("pulled", "scrapped", "taught"),
    [
        (49, 0, []),
        (50, 0, [(50, 0)]),
        (53, 0, [(50, 3)]),
        (40, 2, [(38, 2)]),
        (0, 0, []),
    ],
)
def test_fewer_than_the_drawing_asks_is_a_gap_and_no_perfect_work(
    stages, owner, now, rivets, ask, pulled, scrapped, taught
):
    verbs.count(bin=rivets, counted=90, ask=ask())
    assert named("Skin").needs.get(item=rivets.item).each == 50
    place = working.place_to_pull_for(assembly=named("Skin"), by=owner, now=now)
    if pulled:
        verbs.pull(bin=rivets, quantity=pulled, to=place, ask=ask())
    if scrapped:
        verbs.scrap(bin=rivets, quantity=scrapped, from_=place, ask=ask())
    working.close(assembly=named("Skin"), by=owner, now=now)
    mine = [row for row in spoilage_record() if row.item_id == rivets.item_id]
    assert [(row.good, row.bad) for row in mine] == taught


def test_a_supposition_dates_the_stages_anew(stages):
    today, build = date(2027, 3, 1), current_build()
    plain = dated(build, today, 28)
    away = dated(build, today, 28, WhatIf(away_days=10))
    assert [(row.start - today).days for row in plain] == [19, 47, 61]
    assert [(row.start - today).days for row in away] == [29, 57, 71]
