"""A week with 24 slips, each mended on a page, beside a week without any: all pressed.

Afterwards every balance, forecast, alert, order line and letter is the same in both.
"""

from datetime import timedelta

import pytest
from django.core import mail
from django.core.management import call_command
from django.utils import timezone

from inventory.alerts.actions import deliver, recompute
from inventory.alerts.queries import open_alerts
from inventory.buying.queries.market import market_of
from inventory.forecasting.queries.readiness import readiness
from inventory.forecasting.queries.report import as_data
from inventory.ledger import queries
from inventory.ledger.models import Balance, Bin, CountFound, Lot
from inventory.ledger.queries.lots import lots_in, recall
from inventory.ordering.queries import days_late, leads, still_owed
from inventory.people.models import User
from inventory.planning.actions.importing import apply, preview
from inventory.planning.queries import shop_pace
from inventory.planning.queries.spoilage import spoilage_record
from tests.browser import open_page
from tests.journeys.pressing import says, send
from tests.journeys.week import Week, honest, none_at_all, twenty_four

PLAN = """stage,start,assembly,how_many,callout,each,hole_size,holes,fasten_every
Fin,{near},Spar,1,MS20426AD3-3.5,90,#40,90,2
Fin,{near},Skin,2,MS20426AD3-4,60,#40,60,3
Wing,{far},Ribs,1,MS20426AD3-3.5,400,,,
"""
TINS = {12: ("MS20426AD3-3.5", 300), 13: ("MS20426AD3-4", 200), 14: ("AN3-5A", 40)}
SIZES = [{"width": 360, "height": 640}, {"width": 1280, "height": 900}]


def state(today, now):
    """All figures of a shop, by names that two shops share."""
    mail.outbox.clear()
    recompute(now=now)
    deliver(now=now + timedelta(minutes=10))
    data = as_data(readiness(today))
    bins = {bin.number: bin for bin in Bin.objects.select_related("item", "place")}
    held = Balance.objects.exclude(quantity=0)
    names = {bin.place_id: f"bin {n}" for n, bin in bins.items()}
    there = held.exclude(place__kind__in=["supplier", "count_difference"])
    return {
        "forecast": data,
        "letters": [(each.subject, each.body) for each in mail.outbox],
        "alerts": sorted((row.title, row.sentence) for row in open_alerts()),
        "balances": sorted(
            (names.get(row.place_id, row.place.name), row.item.key, row.quantity)
            for row in there.select_related("place", "item")
        ),
        "bins": {
            n: (
                bin.count_it,
                bin.count_reason,
                bin.moved_since,
                bin.last_count and bin.last_count.counted,
                [stay.lot.name for stay in lots_in(bin)],
                list(
                    CountFound.objects.filter(bin=bin).values_list(
                        "difference", "moved"
                    )
                ),
            )
            for n, bin in bins.items()
        },
        "owed": [(row.line.order.number, row.pieces) for row in still_owed()],
        "wanted": [(row.stage, row.pieces) for row in market_of(today, 400).asked],
        "recall": {
            lot.name: sorted(each.place.name for each in recall(lot))
            for lot in Lot.objects.filter(name="K-1")
        },
        "learned": (
            [(row.good, row.bad, row.by) for row in spoilage_record()],
            shop_pace(),
            days_late(today),
            [lead.days for lead in leads().values()],
        ),
    }


def begun(page, url, today):
    """A shop with a plan and three tins, and its owner signed in."""
    owner = User.objects.get()
    days = {"near": today + timedelta(days=20), "far": today + timedelta(days=90)}
    found = preview(name="plan.csv", data=PLAN.format(**days).encode())
    apply(found=found, by=owner, now=timezone.now())
    for number, (callout, counted) in TINS.items():
        page.goto(f"{url}/bins/new/")
        how_many = {"How_many_are_in_it_now": str(counted), "Bin_number": str(number)}
        send(page, "Make the bin", Callout=callout, **how_many)
        says(page, "Bin")
        assert queries.quantity_in(queries.bin_numbered(number)) == counted


def read(week):
    """What a builder reads on the pages that sum the shop up."""
    found = {}
    for address in ("/", "/alerts/", "/bins/", "/plan/", "/items/", "/lent/"):
        week.go(address)
        found[address] = week.page.locator("main").inner_text()
    return found


def worked(server, size, slips):
    """The figures of a new shop, keys and all, after a week with such slips."""
    call_command("flush", interactive=False, verbosity=0)
    owner = User.objects.create_user(
        "marlow", "marlow@hangar.test", "a phrase long enough", is_superuser=True
    )
    now = timezone.now()
    today = timezone.localdate(now)
    with open_page(server, owner, size=size) as page:
        begun(page, server.url, today)
        week = Week(page, server.url, today)
        honest(week, slips(week))
        assert queries.flaws() == []
        return state(today, now) | read(week)


@pytest.mark.unmeasured
@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("size", SIZES, ids=["phone", "desk"])
def test_a_week_of_slips_each_mended_leaves_what_a_week_without_them_leaves(
    live_server, size
):
    without = worked(live_server, size, lambda week: none_at_all())
    assert without["forecast"]["stages"]
    assert without["owed"] == [(1, 500)]
    found = worked(live_server, size, twenty_four)
    for name, figures in without.items():
        assert found[name] == figures, name
