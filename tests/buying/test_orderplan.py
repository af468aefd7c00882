"""The order plan in a shop: what it reads, says, keeps, survives and orders."""

import json
from datetime import timedelta
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from inventory.buying import actions as planning
from inventory.buying.models import CANCELLED, DONE, FAILED, SOLVING, WAITING, OrderPlan
from inventory.buying.queries.market import market_of
from inventory.buying.queries.plans import last_plan, plan_data, proof_of
from inventory.buying.rules.explaining import late
from inventory.buying.rules.orderplan import LIFE, Missed, Solution
from inventory.buying.solver import solving as solver
from inventory.catalog.actions import item_for_callout, weigh_item
from inventory.errors import Refused
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.ordering.actions.offering import OfferTerms, change_terms, price_offer
from inventory.ordering.actions.placing import offer, supplier_called
from inventory.ordering.models import Offer, Order, Supplier
from inventory.ordering.rules.example import offers_example
from inventory.ordering.rules.offers import pack_of
from inventory.people.actions import settle_shop
from inventory.planning.actions.importing import apply, preview

pytestmark = pytest.mark.django_db
PLAN = b"""stage,start,assembly,how_many,callout,each
Fin,2027-03-20,Spar,1,MS20426AD3-3.5,300
Fin,2027-03-20,Skin,1,MS20426AD3-4,120
Wing,2027-08-20,Spar,1,AN470AD4-5,400
"""


@pytest.fixture
def wanted(owner, now):
    """Two rivets in 19 days, a third in 172; nothing in the bins."""
    apply(found=preview(name="plan.csv", data=PLAN), by=owner, now=now)


@pytest.fixture
def clock(now):
    """Every moment is the tests' evening."""
    return lambda: now


def sells(owner, callout, pack, price, name="Hangar supply", **more):
    """A priced pack at a supplier of shipping 12.95, six days away."""
    supplier = supplier_called(name=name)
    terms = {"lead_days": 6, "shipping": Decimal("12.95")}
    change_terms(supplier=supplier, changes=terms, by=owner)
    return price_offer(
        item=item_for_callout(text=callout),
        supplier=supplier,
        pack=pack_of(pack),
        terms=OfferTerms(Decimal(price), **more),
        by=owner,
    )


@pytest.fixture
def market(owner, wanted):
    """All three rivets at one supplier."""
    return [
        sells(owner, "MS20426AD3-3.5", "1/4 lb", "11.40"),
        sells(owner, "MS20426AD3-4", "100", "3.10"),
        sells(owner, "AN470AD4-5", "250", "9.80"),
    ]


def worked(owner, now, days=60, **more):
    """A plan asked for and worked out here."""
    row = planning.ask_plan(by=owner, now=now, days_ahead=days, **more)
    assert planning.work_out(pk=row.pk, clock=lambda: now)
    row.refresh_from_db()
    return row


@pytest.mark.slow
def test_a_plan_says_what_to_buy_what_for_and_how_sure_it_is(owner, now, market):
    row = worked(owner, now)
    assert row.state == DONE
    (parcel,) = row.found["suppliers"]
    lines = {line["callout"]: line for line in parcel["lines"]}
    assert lines["MS20426AD3-3.5"]["pack_grams"] == "113.40"
    assert lines["MS20426AD3-3.5"]["for"] == ["Fin"]
    assert lines["MS20426AD3-4"]["packs"] == 2
    assert lines["MS20426AD3-4"]["left_over"] >= 0
    assert parcel["arrives"] == (now.date() + timedelta(days=6)).isoformat()
    assert row.total == Decimal("11.40") + 2 * Decimal("3.10") + Decimal("12.95")
    assert row.bound == row.total
    assert proof_of(row) == "No plan costs less."


@pytest.mark.slow
@pytest.mark.usefixtures("solved_here")
def test_what_a_later_stage_wants_goes_along_with_the_parcel(owner, now, market):
    row = worked(owner, now)
    (said,) = [text for text in row.found["advice"] if "goes anyway" in text]
    assert "2 x 250 of AN470AD4-5 for Wing" in said
    assert "19.60, and saves a parcel of 12.95 later" in said


@pytest.mark.slow
@pytest.mark.usefixtures("solved_here")
def test_free_shipping_near_by_is_said(owner, now, market):
    supplier = Supplier.objects.get()
    change_terms(supplier=supplier, changes={"free_from": Decimal("40.00")}, by=owner)
    row = worked(owner, now)
    assert any(
        "Another 22.40 of goods makes Hangar supply's shipping of 12.95 free." in text
        for text in row.found["advice"]
    )


@pytest.mark.slow
@pytest.mark.usefixtures("solved_here")
def test_stock_nobody_asks_for_is_cut_down(owner, now, ask, market):
    settle_shop(changes={"cut_cost": Decimal("0.01")}, by=owner)
    bin = open_bin(item=item_for_callout(text="MS20426AD3-6"), by=owner, number=40)
    verbs.count(bin=bin, counted=500, ask=ask())
    row = worked(owner, now)
    assert row.found["suppliers"] == []
    assert all(cut["longer"] == bin.item_id for cut in row.found["cuts"])
    (said,) = [text for text in row.found["advice"] if "MS20426AD3-4:" in text]
    assert said.startswith("Cut ")
    assert "MS20426AD3-6 down to MS20426AD3-4" in said


@pytest.mark.slow
def test_only_one_family_is_cut_and_only_shorter(owner, now, market):
    for callout in ("MS20426AD3-5", "MS20426A3-5", "MS20470AD3-5", "MS20426AD4-5"):
        item_for_callout(text=callout)
    item_for_callout(text="MS20426AD3-3")
    found = market_of(now.date(), 60)
    pairs = {
        (found.things[cut.longer].callout, found.things[cut.shorter].callout)
        for cut in found.problem.cuts
    }
    assert pairs == {
        ("MS20426AD3-5", "MS20426AD3-4"),
        ("MS20426AD3-5", "MS20426AD3-3.5"),
        ("MS20426AD3-4", "MS20426AD3-3.5"),
    }


@pytest.mark.slow
@pytest.mark.usefixtures("solved_here")
def test_what_nobody_brings_in_time_is_said_with_the_days(owner, now, wanted):
    sells(owner, "MS20426AD3-3.5", "400", "9.00", lead_days=24)
    row = worked(owner, now)
    (said,) = [text for text in row.found["late"] if "quick" in text]
    assert said.startswith("no supplier is quick enough: ")
    assert "the quickest, Hangar supply, would be 5 days late" in said
    (nobody,) = [text for text in row.found["late"] if "nobody" in text]
    assert "MS20426AD3-4" in nobody
    assert row.found["suppliers"][0]["lines"][0]["callout"] == "MS20426AD3-3.5"


def test_a_life_that_ends_too_soon_is_left_for_later(owner, now, wanted):
    sells(owner, "AN470AD4-5", "500", "9.00", life_days=30)
    found = market_of(now.date(), 400)
    offers = [row for row in found.problem.offers if row.life_days == 30]
    assert not offers[0].serves(172)
    plan = Solution([], [], [Missed(offers[0].item, 172, 5, LIFE)], Decimal(0), True)
    assert "past its life on 20 Aug 2027" in late(found, plan)[0]


@pytest.mark.slow
def test_a_pack_by_weight_of_unknown_pieces_is_left_out_with_a_sentence(
    owner, now, wanted
):
    apply(
        found=preview(
            name="plan.csv", data=PLAN + b"Wing,2027-08-20,Spar,1,AN3-4A,12\n"
        ),
        by=owner,
        now=now,
    )
    sells(owner, "AN3-4A", "100 g", "9.00")
    sells(owner, "AN470AD4-5", "250", "9.00")
    found = market_of(now.date(), 400)
    (sentence,) = found.left_out
    assert "nobody knows what one piece weighs" in sentence
    weigh_item(item=item_for_callout(text="AN3-4A"), piece_mass_mg=Decimal(5000))
    assert market_of(now.date(), 400).left_out == []


# Nothing to work with.


def test_without_prices_the_plan_fails_with_a_sentence_and_the_last_stays(
    owner, now, clock, wanted
):
    offer(
        item=item_for_callout(text="MS20426AD3-4"),
        supplier=supplier_called(name="Hangar supply"),
        pack=100,
        lead_days=6,
    )
    row = planning.ask_plan(by=owner, now=now)
    planning.work_out(pk=row.pk, clock=clock)
    row.refresh_from_db()
    assert row.state == FAILED
    assert "import a price list" in row.sentence
    assert last_plan() is None
    assert plan_data()["state"] == FAILED


@pytest.mark.slow
@pytest.mark.usefixtures("solved_here")
def test_without_a_plan_nothing_is_ordered(owner, now, clock):
    row = planning.ask_plan(by=owner, now=now)
    planning.work_out(pk=row.pk, clock=clock)
    row.refresh_from_db()
    assert (row.state, row.total, row.found["suppliers"]) == (DONE, 0, [])
    with pytest.raises(Refused, match="orders nothing"):
        planning.order_from(plan=row, by=owner, now=now, today=now.date())


# Asked, lost, stopped, dead.


def test_one_at_most_is_open(owner, now):
    first = planning.ask_plan(by=owner, now=now)
    assert planning.ask_plan(by=owner, now=now).pk == first.pk
    assert planning.cancel_plan(by=owner, now=now)
    assert not planning.cancel_plan(by=owner, now=now)
    assert planning.ask_plan(by=owner, now=now).pk != first.pk
    with pytest.raises(Refused, match="seconds"):
        planning.ask_plan(by=owner, now=now, limit=0)


@pytest.mark.slow
@pytest.mark.usefixtures("solved_here")
def test_a_second_message_finds_the_plan_taken(owner, now, clock):
    row = planning.ask_plan(by=owner, now=now)
    assert planning.work_out(pk=row.pk, clock=clock)
    assert not planning.work_out(pk=row.pk, clock=clock)


@pytest.mark.slow
@pytest.mark.usefixtures("solved_here")
def test_a_lost_message_is_swept_up_after_a_while(owner, now, clock):
    row = planning.ask_plan(by=owner, now=now)
    assert planning.sweep(clock=clock) == 0
    assert planning.sweep(clock=lambda: now + timedelta(seconds=30)) == 1
    row.refresh_from_db()
    assert row.state == DONE


@pytest.mark.slow
@pytest.mark.usefixtures("solved_here")
def test_a_dead_workers_plan_is_tried_once_more_and_then_given_up(owner, now):
    row = planning.ask_plan(by=owner, now=now)
    mine = OrderPlan.objects.filter(pk=row.pk)
    mine.update(state=SOLVING, tries=2, beat_at=now)
    assert planning.sweep(clock=lambda: now + timedelta(seconds=60)) == 0
    assert mine.get().state == SOLVING
    planning.sweep(clock=lambda: now + timedelta(seconds=120))
    assert (mine.get().state, mine.get().turn) == (FAILED, None)
    assert "ended twice" in mine.get().sentence
    other = planning.ask_plan(by=owner, now=now)
    OrderPlan.objects.filter(pk=other.pk).update(state=SOLVING, tries=1, beat_at=now)
    assert planning.sweep(clock=lambda: now + timedelta(seconds=120)) == 1


@pytest.mark.slow
def test_stopping_ends_the_child_and_keeps_the_last_plan(
    owner, now, market, monkeypatch
):
    kept = worked(owner, now)
    monkeypatch.setattr(solver, "CHILD", ("-c", "import time; time.sleep(60)"))
    alive = planning._alive

    def stop_after_a_beat(pk, elapsed, at):
        assert alive(pk, elapsed, at)
        planning.cancel_plan(by=owner, now=at)
        return alive(pk, elapsed, at)

    monkeypatch.setattr(planning, "_alive", stop_after_a_beat)
    row = worked(owner, now)
    assert row.state == CANCELLED
    assert row.elapsed > 0
    assert last_plan().pk == kept.pk


@pytest.mark.slow
def test_a_killed_solver_leaves_the_last_plan(owner, now, market, monkeypatch):
    kept = worked(owner, now)
    monkeypatch.setattr(solver, "CHILD", ("-c", "import os; os.kill(os.getpid(), 9)"))
    row = worked(owner, now)
    assert (row.state, row.turn) == (FAILED, None)
    assert "the last plan stays" in row.sentence
    assert last_plan().pk == kept.pk


# Orders from it.


@pytest.mark.slow
@pytest.mark.usefixtures("solved_here")
def test_orders_are_made_once_one_a_supplier(owner, now, market):
    row = worked(owner, now)
    (order,) = planning.order_from(plan=row, by=owner, now=now, today=now.date())
    assert order.supplier.name == "Hangar supply"
    assert order.expected_on == now.date() + timedelta(days=6)
    assert {line.item.callout: line.packs for line in order.lines.all()} == {
        "MS20426AD3-3.5": 1,
        "MS20426AD3-4": 2,
    }
    with pytest.raises(Refused, match="already"):
        planning.order_from(plan=row, by=owner, now=now, today=now.date())
    assert Order.objects.count() == 1
    # What is due now is not wanted again.
    assert worked(owner, now).found["suppliers"] == []


# Commands.


def run(name, *words):
    """What a command prints."""
    out = StringIO()
    call_command(name, *words, stdout=out, stderr=StringIO())
    return out.getvalue()


def test_the_price_list_command_shows_a_difference_before_it_applies(owner, tmp_path):
    file = tmp_path / "offers.csv"
    file.write_text(run("import_offers", "--template"))
    assert run("import_offers", str(file)) == "Imported: 5 changes, 5 rows.\n"
    assert "nothing changed" in run("import_offers", str(file))
    file.write_text(offers_example().replace("9.80", "10.20"))
    assert "price 9.80 becomes 10.20" in run("import_offers", str(file))
    assert Offer.objects.filter(price=Decimal("9.80")).exists()
    assert "Imported: 1 changes" in run("import_offers", str(file), "--apply")
    file.write_text("supplier,callout,pack,price\nHangar,AN470AD4-5,100,much\n")
    with pytest.raises(CommandError, match="nothing was imported"):
        run("import_offers", str(file))


@pytest.fixture
def today(monkeypatch, now):
    """Commands run on the tests' evening."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: now)


@pytest.mark.slow
@pytest.mark.usefixtures("solved_here")
def test_the_command_prints_the_plan_in_words_and_as_json(owner, market, today):
    said = run("order_plan", "--days", "60")
    assert "30.55 in all. No plan costs less." in said
    assert "2 x 100 of MS20426AD3-4: 6.20, for Fin" in said
    found = json.loads(run("order_plan", "--json", "--days", "60", "--limit", "20"))
    assert found["plan"]["objective"] == "30.55"
    assert found["plan"]["gap"] == 0
    assert found["plan"]["status"] == "proven"


@pytest.mark.slow
def test_the_command_says_why_there_is_no_plan(owner, wanted, today):
    with pytest.raises(CommandError, match="import a price list"):
        run("order_plan")
    with pytest.raises(CommandError, match="seconds"):
        run("order_plan", "--limit", "0")


def test_what_waits_stays_waiting_until_it_is_taken(owner, now):
    row = planning.ask_plan(by=owner, now=now)
    assert (row.state, row.is_open) == (WAITING, True)
    assert plan_data()["limit_seconds"] == solver.SECONDS
