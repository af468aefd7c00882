"""A shop that grows asks its database no more often: not by bins, builds or movements."""

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from inventory.alerts import actions as alerts
from inventory.ledger.actions.summing import keep_sums
from inventory.ledger.queries import flaws
from inventory.management.measures import growth, growth_shop

pytestmark = [pytest.mark.django_db, pytest.mark.slow]
PLAN = b"""stage,start,assembly,how_many,callout,each
Fin,2027-03-01,Skin,1,MS20470AD4-5,40
Fin,2027-03-01,Rib,1,MS20470AD4-6,30
Rudder,2027-05-01,Skin,1,MS20470AD3-4,90
"""


@pytest.fixture
def filled(monkeypatch):
    """A scratch shop with so many bins, builds and movements."""

    def make(bins, builds, movements):
        for name, value in (("BINS", bins), ("ITEMS", 6), ("BUILDS", builds)):
            monkeypatch.setattr(growth_shop, name, value)
        shop = growth_shop.furnish(PLAN)
        growth_shop.fill(shop, movements)
        return shop

    return make


def asked_by(client, shop):
    """Statements of each page and of the look at everything, once all is settled."""
    client.force_login(shop.by[0])
    item = f"/items/{shop.bins[0].item_id}/"
    pages = {"first": "/", "plan": "/plan/", "bins": "/bins/", "item": item}
    works = {"look": lambda: alerts.settle_all(now=timezone.now())}
    for name, page in {**pages, "why": f"{item}why/"}.items():
        works[name] = lambda page=page: client.get(page)
    found = {}
    for name, work in works.items():
        work()
        with CaptureQueriesContext(connection) as asked:
            work()
        found[name] = len(asked)
    return found


def test_the_scratch_shop_of_the_measure_is_a_record_that_holds(filled):
    shop = filled(bins=12, builds=3, movements=400)
    growth_shop.fill(shop, 700)
    keep_sums()
    assert shop.movements == 700
    assert flaws() == []


@pytest.mark.unmeasured
def test_every_work_of_the_measure_is_timed_beside_itself(filled):
    shop = filled(bins=12, builds=2, movements=60)
    before = growth.measured(shop)
    growth_shop.fill(shop, shop.movements + 40)
    found = list(growth.rows(before, growth.measured(shop), shop.movements))
    assert {row.name for row in found} >= {
        *("growth: look at everything", "growth: first page", "growth: why"),
        *("growth: bins", "growth: plan", "growth: one item", "growth: scan"),
    }
    for row in found:
        assert row.ratio == row.figure / before[row.name.removeprefix("growth: ")]
        assert "movements" in row.how


@pytest.mark.unmeasured
def test_statements_do_not_grow_with_the_shop(filled, client):
    with transaction.atomic():
        small = asked_by(client, filled(bins=12, builds=2, movements=100))
        transaction.set_rollback(True)
    assert asked_by(client, filled(bins=90, builds=6, movements=1200)) == small
