"""Why a pool or a drill size is short: each figure adds up from its parts."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from inventory.catalog.actions import item_described
from inventory.catalog.rules import described
from inventory.forecasting.actions import fit_from_bin
from inventory.forecasting.queries.readiness import readiness
from inventory.forecasting.queries.why import why
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.planning.actions import importing

pytestmark = pytest.mark.django_db
TODAY = date(2027, 3, 1)
PLAN = """stage,start,assembly,callout,each,hole_size,holes,operation,fasten_every,days_held
Fin,{start},Skin,MS20426AD3-4,60,#40,60,full,2,5
Fin,{start},Rib,MS20426AD3-4,40,#40,40,open,2,5
"""


@pytest.fixture
def plan(owner, now):
    text = PLAN.format(start=TODAY + timedelta(days=20))
    found = importing.preview(name="plan.csv", data=text.encode())
    importing.apply(found=found, by=owner, now=now)


def stocked(number, kind, count, owner, ask):
    item = item_described(what=described(kind, size="#40"))
    bin = open_bin(number=number, item=item, by=owner)
    verbs.count(bin=bin, counted=count, ask=ask())
    return bin


def part(reason, words):
    (found,) = [each for each in reason.parts if words in each.words]
    return found


def line_of(kind):
    (line,) = [
        each
        for row in readiness(TODAY).stages
        for each in row.lines
        if each.kind == kind
    ]
    return line


@pytest.mark.slow
def test_a_pool_opens_to_holds_owned_and_losses(plan, owner, ask):
    bin = stocked(31, "temporary fastener", 45, owner, ask)
    found, line = why(bin.item, TODAY), line_of("pool")
    stage = part(found, "too few are left in Fin")
    assert stage.number == pytest.approx(line.chance_short, abs=1e-4)
    assert part(stage, "held at once").number == 50
    held = part(found, "holes held in all")
    assert sorted(each.number for each in held.parts) == [20, 30]
    own = part(found, "owned of the")
    assert own.number == sum(each.number for each in own.parts) == 45
    assert part(found, "in a thousand uses").number == 1


@pytest.mark.slow
def test_a_drill_opens_to_its_holes_bits_and_life(plan, owner, ask):
    bin = stocked(32, "drill", 3, owner, ask)
    fit_from_bin(bin=bin, ask=ask())
    found, line = why(bin.item, TODAY), line_of("drill")
    stage = part(found, "do not last Fin")
    assert stage.number == pytest.approx(line.chance_short, abs=1e-4)
    holes = part(found, "still planned")
    # 60 full holes, and 40 opened at a fifth of one each.
    assert [each.number for each in holes.parts] == [60, 8]
    assert holes.number == 68
    assert part(found, "sharp bits: fresh").number == 2
    assert part(found, "on the one fitted").number == 0
    life = part(found, "half of all fresh bits")
    assert part(life, "is the guess").number == 300


@pytest.mark.slow
def test_the_page_and_the_json_say_it_too(plan, owner, ask, client):
    bin = stocked(32, "drill", 3, owner, ask)
    client.force_login(owner)
    page = client.get(reverse("item-why", args=[bin.item.pk])).content.decode()
    assert "equivalent full holes of #40 still planned" in page
    data = client.get(f"/api/v1/items/{bin.item.pk}/why").json()
    assert any("still planned" in each["words"] for each in data["parts"])
