"""A week with twenty slips, each mended on a page, beside a week without any.

Afterwards every balance, forecast, alert, order line and letter is the same in both.
"""

import uuid
from datetime import timedelta

import pytest
from django.core import mail
from django.db import transaction
from django.utils import timezone

from inventory.alerts.actions import deliver, recompute
from inventory.alerts.queries import open_alerts
from inventory.buying.queries.market import market_of
from inventory.catalog.actions import item_for_callout
from inventory.forecasting.queries.readiness import readiness
from inventory.forecasting.queries.report import as_data
from inventory.ledger import queries
from inventory.ledger.models import Act, Balance, Bin, CountFound, Lot
from inventory.ledger.queries.lots import lots_in, recall
from inventory.ordering.models import Order, Supplier
from inventory.ordering.queries import days_late, leads, still_owed
from inventory.planning.actions.importing import apply, preview
from inventory.planning.models import Assembly, Stage
from inventory.planning.queries import shop_pace
from inventory.planning.queries.spoilage import spoilage_record

PLAN = """stage,start,assembly,how_many,callout,each,hole_size,holes,fasten_every
Fin,{near},Spar,1,MS20426AD3-3.5,90,#40,90,2
Fin,{near},Skin,2,MS20426AD3-4,60,#40,60,3
Wing,{far},Ribs,1,MS20426AD3-3.5,400,,,
"""
TINS = {12: ("MS20426AD3-3.5", 300), 13: ("MS20426AD3-4", 200), 14: ("AN3-5A", 40)}


class Week:
    """A shop worked through its pages by one person."""

    def __init__(self, client, today):
        self.client, self.today = client, today
        self.spar, self.skin = (Assembly.objects.get(name=n) for n in ("Spar", "Skin"))

    def post(self, address, **said):
        if "scan_id" in said and said["scan_id"] is None:
            said["scan_id"] = str(uuid.uuid4())
        found = self.client.post(address, said, follow=True)
        assert found.status_code == 200, found.content.decode()[-3000:]
        return found

    def work(self, number, verb, quantity, **other):
        said = {"scan_id": None, "verb": verb, "quantity": quantity, "sure": "yes"}
        self.post(f"/bins/{number}/book/", **said, **other)
        return Act.objects.latest("pk")

    def receive(self, number, pieces, **other):
        said = {"scan_id": None, "bin": number, "pieces": pieces, "sure": "yes"}
        who = {} if "line" in other else {"supplier": "Hangar supply"}
        self.post(f"/receive/{number}/", **said, **who, **other)
        return Act.objects.latest("pk")

    def order(self, callout, packs, pieces):
        said = {
            "supplier": "Hangar supply",
            "placed_on": self.today.isoformat(),
            "expected_on": (self.today + timedelta(days=30)).isoformat(),
            "line-TOTAL_FORMS": 1,
            "line-INITIAL_FORMS": 0,
            "line-0-callout": callout,
            "line-0-packs": packs,
            "line-0-pack_pieces": pieces,
            "sure": "yes",
        }
        self.post("/orders/new/", **said)
        return Order.objects.latest("pk")

    def back(self, act):
        """The button beside an act."""
        self.post(f"/acts/{act.pk}/undo/")


def honest(week, slips):
    """What is really done; between it, `slips` may happen."""
    week.work(12, "pull", 30, assembly=week.spar.pk)
    next(slips)
    week.order("MS20426AD3-3.5", 2, 250)
    next(slips)
    week.work(13, "pull", 40, assembly=week.skin.pk)
    week.work(13, "scrap", 2, assembly=week.skin.pk)
    next(slips)
    week.work(12, "count", 268)
    next(slips)
    week.receive(13, 100, lot="K-1")
    week.work(12, "pull", 20, assembly=week.spar.pk)
    next(slips)


def none_at_all():
    while True:
        yield


def twenty(week):
    """Twenty slips, some mended at once, some at the end of the week."""
    late = []
    yield from at_the_bench_and_of_orders(week, late)
    yield from of_counts_lots_and_dates(week, late)
    for act in late:
        week.back(act)
    yield


def at_the_bench_and_of_orders(week, late):
    """The first seven."""
    week.back(week.work(12, "pull", 300, assembly=week.spar.pk))  # 1 for 30
    late.append(week.work(13, "pull", 30, assembly=week.spar.pk))  # 2 the tin beside
    late.append(week.receive(12, 99_999))  # 3 a code read as a number
    yield
    (twice,) = [week.order("MS20426AD3-3.5", 2, 250)]  # 4 noted twice
    week.post(f"/orders/{twice.number}/back/")
    (line,) = Order.objects.get(number=1).lines.all()
    week.post(f"/order-lines/{line.pk}/drop/")  # 5 the wrong line
    week.post(f"/order-lines/{line.pk}/wait/")
    wrong = {"callout": line.item.callout, "packs": 20, "pack_pieces": 250}
    week.post(f"/order-lines/{line.pk}/change/", **wrong, sure="yes")  # 6 packs
    week.post(f"/order-lines/{line.pk}/change/", **{**wrong, "packs": 2})
    late.append(week.receive(12, 500, line=line.pk))  # 7 it was another parcel
    yield


def of_counts_lots_and_dates(week, late):
    """The others."""
    late.append(week.work(12, "count", 0))  # 8 of an empty tin with its number
    week.back(week.work(13, "scrap", 40, assembly=week.skin.pk))  # 9 for 4
    late.append(
        week.work(13, "return", 12, assembly=week.skin.pk)
    )  # 10 never came back
    yield
    lent = {"scan_id": None, "what": "lend", "who": "Juniper", "quantity": 40}
    week.post("/bins/13/lend/", **lent)  # 11 it was another friend's tin
    late.append(Act.objects.latest("pk"))
    late.append(week.receive(13, 50, lot="K-9"))  # 12 a lot of another tin
    week.post(
        "/bins/13/change/", spot="rack 9", keep_level=5000
    )  # 13 a nought too many
    week.post("/bins/13/change/", spot="", keep_level="")
    stage = Stage.objects.get(name="Wing")
    week.post(f"/stages/{stage.pk}/skip/", skipped="on")  # 14 the wrong stage
    week.post(f"/stages/{stage.pk}/skip/")
    start = stage.planned_start
    week.post(f"/stages/{stage.pk}/date/", start=start - timedelta(days=60))  # 15
    week.post(f"/stages/{stage.pk}/date/", start=start)
    yield
    late.append(week.work(12, "pull", 500, assembly=week.spar.pk))  # 16 beyond all
    week.back(late[-1])
    week.post(f"/acts/{late.pop().pk}/undo/", gone="yes")  # 17 taken back too soon
    late.append(Act.objects.filter(verb="pull").latest("pk"))
    late.append(week.work(14, "count", 4))  # 18 for 40
    late.append(week.work(14, "pull", 3))  # 19 of the neighbour's
    (tin,) = Bin.objects.filter(number=13)
    weighed = {"pieces": 100, "grams": 8, "gross": 60, "tare": 30, "division": "0.1"}
    week.post(f"/bins/{tin.number}/weigh/", **weighed, book="yes", sure="yes")  # 20
    late.append(Act.objects.latest("pk"))


def state(today, now):
    """All figures of a shop, by names that two shops share."""
    mail.outbox.clear()
    recompute(now=now)
    deliver(now=now + timedelta(minutes=10))
    data = as_data(readiness(today))
    for stage in data["stages"]:
        stage.pop("id")
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
            lot.name: sorted(place.name for place in recall(lot))
            for lot in Lot.objects.filter(name="K-1")
        },
        "learned": (
            [(row.good, row.bad, row.by) for row in spoilage_record()],
            shop_pace(),
            days_late(today),
            [lead.days for lead in leads().values()],
        ),
    }


@pytest.mark.unmeasured
@pytest.mark.slow
@pytest.mark.django_db
def test_a_week_of_slips_each_mended_leaves_what_a_week_without_them_leaves(
    client, owner
):
    owner.email = "marlow@hangar.test"
    owner.save()
    client.force_login(owner)
    now = timezone.now()
    today = timezone.localdate(now)
    days = {"near": today + timedelta(days=20), "far": today + timedelta(days=90)}
    apply(
        found=preview(name="plan.csv", data=PLAN.format(**days).encode()),
        by=owner,
        now=now,
    )
    for number, (callout, counted) in TINS.items():
        said = {"callout": callout, "number": number, "counted": counted}
        client.post("/bins/new/", said)
        assert queries.quantity_in(queries.bin_numbered(number)) == counted
    item_for_callout(text="MS20426AD3-3.5")
    Supplier.objects.all().delete()
    mark = transaction.savepoint()
    week = Week(client, today)
    honest(week, none_at_all())
    without = state(today, now)
    assert without["forecast"]["stages"]
    assert without["owed"] == [(1, 500)]
    transaction.savepoint_rollback(mark)
    week = Week(client, today)
    honest(week, twenty(week))
    found = state(today, now)
    for name, figures in without.items():
        assert found[name] == figures, name
    assert queries.flaws() == []
