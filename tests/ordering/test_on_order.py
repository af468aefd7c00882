"""What is on order is not ordered again, and what comes finds its order."""

import uuid
from datetime import date, timedelta

import pytest

from inventory.alerts.queries.finding import findings
from inventory.buying.queries.market import market_of
from inventory.errors import Refused
from inventory.forecasting.queries.readiness import readiness
from inventory.forecasting.queries.report import in_words
from inventory.ledger.queries import quantity_in
from inventory.ordering.actions.offering import OfferTerms, price_offer
from inventory.ordering.actions.placing import AskLine, place_order, supplier_called
from inventory.ordering.actions.receiving import receive
from inventory.ordering.models import Receipt
from inventory.ordering.queries import still_owed
from inventory.planning.actions.importing import apply, preview
from inventory.scanning.actions import Sent, bench_called, scan
from inventory.trade import codes

pytestmark = pytest.mark.django_db
TODAY = date(2027, 3, 1)
START = TODAY + timedelta(days=20)
PLAN = f"stage,start,assembly,callout,each\nFin,{START},Skin,MS20426AD3-3.5,100\n"


@pytest.fixture
def planned(rivets, owner, now):
    """100 wanted in twenty days, 40 in bin 12, and somebody who sells them."""
    apply(found=preview(name="plan.csv", data=PLAN.encode()), by=owner, now=now)
    price_offer(
        item=rivets.item,
        supplier=supplier_called(name="Hangar supply", lead_days=5),
        pack=(50, None),
        terms=OfferTerms(price=4),
        by=owner,
    )
    return rivets


@pytest.fixture
def ordered(planned, owner):
    """Packs of 50 that come some days after the stage starts."""

    def order(packs, days_after):
        return place_order(
            supplier=supplier_called(name="Hangar supply"),
            asks=[AskLine(planned.item, packs, 50)],
            placed_on=TODAY,
            expected_on=START + timedelta(days=days_after),
            by=owner,
        )

    return order


def line_now():
    ((line,),) = (row.lines for row in readiness(TODAY).stages)
    return line


def wanted():
    return sum(row.pieces for row in market_of(TODAY, 60).asked)


def test_a_parcel_that_comes_late_is_hurried_not_ordered_again(ordered):
    assert line_now().to_order == wanted() > 60
    ordered(2, days_after=4)
    line = line_now()
    assert (line.short, line.to_order, wanted()) == (True, 0, 0)
    assert (line.due, line.late, line.days_late) == (0, 100, 4)
    said = "100 ordered, 4 days late: hurry it, move the date, or borrow"
    assert line.on_order == said
    assert said in in_words(readiness(TODAY))[0]
    (told,) = [row for row in findings(TODAY) if row.cause == "short"]
    assert told.sentence.endswith(f"{said}.")
    assert "order 0" not in told.sentence
    assert told.data["days_late"] == 4
    assert told.act_by == START  # the day to order is nobody's any more


def test_what_is_lacking_beyond_it_is_ordered(ordered):
    before = line_now().to_order
    ordered(1, days_after=1)
    assert line_now().to_order == wanted() == before - 50
    assert line_now().on_order.startswith("50 ordered, 1 day late")
    assert f"order {before - 50} by" in in_words(readiness(TODAY))[0]


def test_a_parcel_in_time_that_may_be_late_is_asked_after(ordered):
    ordered(2, days_after=0)
    line = line_now()
    assert (line.short, line.to_order, line.due, line.late) == (True, 0, 100, 0)
    assert line.on_order == "100 ordered, and may come late: ask the supplier"
    assert wanted() == 0


def test_what_comes_to_the_bench_finds_its_order(ordered, owner, now):
    first, second = ordered(1, days_after=-9), ordered(2, days_after=-2)
    bench = bench_called(key="bench 1", person=owner, now=now)

    def say(*texts):
        for text in texts:
            sent = Sent(uuid.uuid4(), text)
            answer = scan(bench=bench, sent=sent, by=owner, now=now)
        return answer["sentence"]

    label, enter = codes.make("B", 12), codes.make("C", 9)
    goods = codes.make("C", 5)
    # Which of the two is asked once; confirmed once more, the oldest takes it.
    said = say(goods, label, "40", enter, enter)
    assert f"For order {first.number}. That is 10 short of 50." in said
    said = say(goods, label, "10", enter, enter)
    assert f"For order {first.number}. The line is complete." in said
    assert f"For order {second.number}. That is 95 short" in say(
        goods, label, "5", enter
    )
    assert [row.pieces for row in still_owed()] == [95]
    assert Receipt.objects.filter(line__order=first).count() == 2


def test_a_bins_page_offers_the_orders_that_wait(ordered, client, owner):
    order = ordered(1, days_after=0)
    client.force_login(owner)
    page = client.get("/receive/12/").content.decode()
    assert f"order {order.number}, Hangar supply: 50 still to come" in page
    (line,) = order.lines.all()
    form = {"scan_id": str(uuid.uuid4()), "bin": "12", "pieces": "50", "line": line.pk}
    said = client.post("/receive/12/", form, follow=True).content.decode()
    assert f"For order {order.number}. The line is complete." in said
    assert still_owed() == []
    nobody = {**form, "scan_id": str(uuid.uuid4()), "line": ""}
    refused = client.post("/receive/12/", nobody)
    assert "Name the order, or who delivered it" in refused.content.decode()


def test_what_came_twice_is_asked_about(ordered, owner, ask, planned):
    order = ordered(1, days_after=0)
    (line,) = order.lines.all()
    given = {"bin": planned, "supplier": order.supplier, "pieces": 50, "line": line}
    asked = ask()
    receive(**given, ask=asked, sure=False)
    with pytest.raises(Refused, match="All 50 of this line came already"):
        receive(**given, ask=ask(), sure=False)
    # The same delivery sent again is the same, and who is sure books it as over.
    assert receive(**given, ask=asked, sure=False)[0].repeated
    receive(**given, ask=ask(), sure=True)
    assert quantity_in(planned) == 140
