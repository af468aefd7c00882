"""Dies, cutters and sets: a stage stops for want of one as it does for a rivet."""

from datetime import date, timedelta

import pytest

from inventory.alerts import actions
from inventory.alerts.models import Alert
from inventory.catalog.actions import item_described
from inventory.catalog.rules import described
from inventory.forecasting.queries.readiness import readiness
from inventory.forecasting.queries.report import as_data
from inventory.forecasting.queries.why import why
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.planning.actions import importing

pytestmark = pytest.mark.django_db
TODAY = date(2027, 3, 1)
PLAN = """stage,start,assembly,callout,each
Fin,{start},Skin,MS20426AD3-4,60
Fin,{start},Spar,MS20470AD4-5,40
"""


@pytest.fixture
def plan(owner, now):
    text = PLAN.format(start=TODAY + timedelta(days=20))
    found = importing.preview(name="plan.csv", data=text.encode())
    importing.apply(found=found, by=owner, now=now)


@pytest.fixture
def keep(owner, ask):
    numbers = iter(range(41, 60))

    def make(kind, size, count=1):
        item = item_described(what=described(kind, size=size))
        bin = open_bin(number=next(numbers), item=item, by=owner)
        verbs.count(bin=bin, counted=count, ask=ask())
        return bin

    return make


def told():
    return {
        line.size: line
        for row in readiness(TODAY).stages
        for line in row.lines
        if line.kind == "tool"
    }


def test_a_shop_that_keeps_no_such_tools_here_is_not_told_of_them(plan):
    assert told() == {}


@pytest.mark.slow
def test_a_size_of_die_that_is_not_there_stops_the_stage(plan, keep, now):
    keep("dimple die set", "1/8")
    (line,) = told().values()
    assert line.size == "3/32 dimple die or countersink"
    assert line.certainly_short
    assert "for 60 rivets" in line.note
    actions.recompute(now=now)
    alert = Alert.objects.get(cause="tools")
    assert "3/32 dimple die or countersink" in alert.title


@pytest.mark.slow
def test_a_cutter_of_the_size_will_do_and_a_lost_one_will_not(plan, keep, ask):
    keep("dimple die set", "1/8")
    cutter = keep("countersink cutter", ".09375")
    assert not any(line.short for line in told().values())
    verbs.count(bin=cutter, counted=0, ask=ask())
    (line,) = told().values()
    assert line.short
    assert line.item_id == cutter.item_id


def test_sets_go_by_the_shank(plan, keep):
    keep("driving set", "1/8")
    (line,) = told().values()
    assert (line.size, line.short) == ("1/8 driving set", False)


@pytest.mark.slow
def test_the_stages_page_and_its_json_say_so(plan, keep, owner, client):
    keep("dimple die set", "1/8")
    client.force_login(owner)
    row = readiness(TODAY).stages[0]
    page = client.get(f"/stages/{row.stage.pk}/").content.decode()
    assert "3/32 dimple die or countersink" in page
    assert "none of this size is in the shop" in page
    assert "3/32 dimple die or countersink" in str(as_data(readiness(TODAY)))


def test_why_a_die_is_wanted_opens_to_its_stages(plan, keep):
    die = keep("dimple die set", "3/32")
    found = why(die.item, TODAY)
    (stage,) = [each for each in found.parts if "Fin stops for want" in each.words]
    assert (stage.number, stage.parts[0].number) == (0, 1)
    assert "for 60 rivets" in stage.source
