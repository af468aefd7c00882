"""After a scan only what it touches is reckoned again, and it comes out the same."""

import random
from datetime import timedelta

import pytest

from inventory.alerts import actions
from inventory.alerts.models import Alert
from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.rules import described
from inventory.forecasting.queries.readiness import touched_by
from inventory.forecasting.rules import readiness as rules
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.queries import bin_numbered, quantities_at, quantity_in, rechecks
from inventory.ledger.rules import CountRecord
from inventory.planning.actions import importing
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly
from tests.again import made_once

pytestmark = pytest.mark.django_db
# Two look-alikes, one that is nobody's, temporary fasteners and a drill.
HERE = {
    21: ("MS20426AD3-3.5", 150),
    22: ("MS20426AD3-4", 90),
    23: ("MS20470AD4-5", 120),
}
ROW = "{stage},{start},{name},1,{callout},{each},{size},{each},2\n"


@pytest.fixture
def shop(owner, ask, now):
    three_stages(owner, ask, now)


@made_once
def three_stages(owner, ask, now):
    """Each thing of HERE in each of three stages, and tools."""
    text = "stage,start,assembly,how_many,callout,each,hole_size,holes,fasten_every\n"
    for at, stage in enumerate(("Fin", "Rudder", "Wing")):
        start = (now + timedelta(days=20 * at + 10)).date()
        for name, callout, each, size in (
            ("Skin", "MS20426AD3-3.5", 45, "#40"),
            ("Rib", "MS20426AD3-4", 30, "#40"),
            ("Spar", "MS20470AD4-5", 40, "#30"),
        ):
            text += ROW.format(
                stage=stage,
                start=start,
                name=name,
                callout=callout,
                each=each,
                size=size,
            )
    found = importing.preview(name="plan.csv", data=text.encode())
    importing.apply(found=found, by=owner, now=now)
    for number, (callout, count) in HERE.items():
        filled(number, item_for_callout(text=callout), count, owner, ask)
    for number, kind, size, count in (
        (24, "temporary fastener", "#40", 30),
        (25, "drill", "#40", 1),
    ):
        filled(
            number, item_described(what=described(kind, size=size)), count, owner, ask
        )


def filled(number, item, count, owner, ask):
    bin = open_bin(number=number, item=item, by=owner)
    verbs.count(bin=bin, counted=count, ask=ask())


def told():
    """The open shortages and all that they say."""
    return {
        (row.subject, row.cause): (row.sentence, row.act_by, row.data)
        for row in Alert.objects.filter(cleared_at=None)
    }


@pytest.mark.unmeasured
@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_the_narrow_look_says_what_the_whole_one_says(
    shop, owner, ask, now, seed, monkeypatch
):
    # Every move teaches a little of all counts; that waits for the hourly look.
    monkeypatch.setattr(
        "inventory.forecasting.queries.readiness.count_record", lambda: CountRecord(0.2)
    )
    chance = random.Random(seed)
    actions.settle(now=now)
    assert told()
    narrow = 0
    for _each in range(6):
        one_scan(chance, owner, ask, now)
        narrow += not any(row.wide for row in rechecks())
        actions.settle(now=now)
        after = told()
        actions.recompute(now=now)
        assert told() == after
    assert narrow


def one_scan(chance, owner, ask, now):
    """A pull or a return that the record explains: what it cannot teaches of others."""
    bin = bin_numbered(chance.choice((*HERE, 24)))
    place = place_to_pull_for(
        assembly=chance.choice(list(Assembly.objects.all())), by=owner, now=now
    )
    here, there = (
        quantity_in(bin),
        quantities_at([place.pk]).get((place.pk, bin.item_id), 0),
    )
    if there and chance.random() < 0.4:
        verbs.give_back(bin=bin, quantity=1, from_=place, ask=ask())
    elif here:
        pieces = chance.randint(1, min(40, here))
        verbs.pull(bin=bin, quantity=pieces, to=place, ask=ask())


@pytest.mark.slow
def test_only_the_lines_of_what_moved_are_reckoned(shop, ask, now, monkeypatch):
    actions.settle(now=now)
    bin = bin_numbered(23)
    place = verbs.single_place("unplanned")
    verbs.pull(bin=bin, quantity=3, to=place, ask=ask())
    reckoned = []
    real = rules._line

    def counted(asked, supplies):
        reckoned.append(asked.item)
        return real(asked, supplies)

    monkeypatch.setattr(rules, "_line", counted)
    actions.settle(now=now)
    assert reckoned == [bin.item_id] * 3
    actions.recompute(now=now)
    assert len(reckoned) == 3 + 9


def test_a_look_alike_is_touched_too_and_a_drill_touches_the_drills(shop):
    found = touched_by([bin_numbered(21).item_id])
    assert found.items == {bin_numbered(21).item_id, bin_numbered(22).item_id}
    assert found.tools == {"tool"}
    assert touched_by([bin_numbered(24).item_id]).tools == {"pool"}
    assert touched_by([bin_numbered(25).item_id]).tools == {"drill"}


@pytest.mark.slow
def test_scrap_is_looked_at_everywhere(shop, ask, now):
    actions.settle(now=now)
    bin = bin_numbered(23)
    verbs.scrap(bin=bin, quantity=2, from_=bin.place, ask=ask())
    (row,) = rechecks()
    assert row.wide
    actions.settle(now=now)
    row.refresh_from_db()
    assert not row.wide
