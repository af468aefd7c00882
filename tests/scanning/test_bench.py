"""A bench on the server: whose it is, how long it waits, what it shows and says."""

import uuid
from datetime import timedelta

import pytest

from inventory.catalog.actions import item_described
from inventory.catalog.rules import described
from inventory.errors import Refused
from inventory.forecasting.models import Bit
from inventory.forecasting.rules.bits import BitState
from inventory.ledger import queries as ledger
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.actions.verbs import count
from inventory.ledger.models import Act
from inventory.people.models import User
from inventory.planning.actions import importing
from inventory.planning.models import Assembly
from inventory.scanning.actions import OLDEST, Sent, bench_called
from inventory.scanning.models import Scan
from inventory.scanning.queries import (
    IDLE,
    bench_view,
    number_is_taken,
    state_of,
)
from inventory.scanning.queries.arrived import device_scans
from inventory.scanning.rules.saying import MAX_SCAN, Key
from inventory.scanning.rules.states import State
from inventory.trade import codes
from tests.scanning.conftest import card

pytestmark = pytest.mark.django_db


def test_a_bench_is_one_persons_and_a_wait_of_four_hours_frees_it(say, bench, now):
    assert bench.key == "b" * 60
    assert state_of(bench, now) == State()
    juniper = User.objects.create_user("juniper")
    bench.state = State(person=7).stored()
    bench.save()
    assert state_of(bench, now + IDLE).person == 7
    assert state_of(bench, now + IDLE + timedelta(seconds=1)) == State()
    same = bench_called(key=bench.key, person=bench.person, now=now)
    assert (same.pk, same.state["person"]) == (bench.pk, 7)
    hers = bench_called(key=bench.key, person=juniper, now=now)
    hers.refresh_from_db()
    assert (hers.pk, hers.person, hers.state) == (bench.pk, juniper, {})


def test_the_screen_shows_the_last_acts_newest_first(say, bench, rivets, now):
    say("b12", "7", card(Key.ENTER))
    say(card("count"), "b12", "33", card(Key.ENTER))
    view = bench_view(bench, now)
    agreed, pulled = view["last"]
    assert (view["person"], view["assembly"]) == ("marlow", None)
    assert (pulled["quantity"], pulled["to"]) == (7, "used outside the plan")
    assert (pulled["verb"], pulled["by"], pulled["bin"]) == ("pull", "marlow", 12)
    assert (agreed["quantity"], agreed["to"], agreed["undone"]) == (33, "", False)
    assert pulled["words"] == rivets.item.words
    say(f"undo {agreed['id']}")
    nothing = bench_view(bench, now)["last"][0]
    assert (nothing["verb"], nothing["quantity"], nothing["to"]) == ("undo", 0, "")
    say(f"undo {pulled['id']}")
    back = bench_view(bench, now)["last"]
    assert (back[0]["quantity"], back[0]["to"]) == (7, "bin 12")
    assert back[-1]["undone"]


def test_a_badge_names_who_is_here_until_they_leave(say, bench, now):
    ondine = User.objects.create_user("ondine", first_name="Ondine")
    say(codes.make("H", ondine.pk))
    assert bench_view(bench, now)["person"] == "Ondine"
    User.objects.filter(pk=ondine.pk).update(is_active=False)
    assert bench_view(bench, now)["person"] == "marlow"


PLAN = """stage,assembly,callout,each,hole_size,holes,fasten_every
Fin,Skin,MS20426AD3-4,9,#40,60,2
"""


@pytest.fixture
def sheet(owner, now):
    """The code of an assembly that asks for a rivet in no bin, and for fasteners."""
    found = importing.preview(name="plan.csv", data=PLAN.encode())
    importing.apply(found=found, by=owner, now=now)
    return codes.make("S", Assembly.objects.get().pk)


def test_what_is_asked_is_named_though_no_bin_holds_it(say, sheet, rivets):
    wrong = say(sheet, "b12")
    (need,) = Assembly.objects.get().needs.all()
    assert (wrong["kind"], wrong["data"]["asked"]) == ("not_asked_for", need.item_id)
    assert f"It asks for {need.item.title}" in wrong["sentence"]
    assert "bin" not in wrong["sentence"].partition("It asks for")[2]


def test_fasteners_are_proposed_until_they_are_there(say, bench, sheet, owner, ask):
    item = item_described(what=described("temporary fastener", size="3/32"))
    bin = open_bin(item=item, by=owner, number=31)
    count(bin=bin, counted=50, ask=ask())
    held = say(sheet, "b31", "20", card(Key.ENTER), "b31")
    assert (held["kind"], bench.state["pending"]["quantity"]) == ("opened", 10)
    say(card(Key.ENTER), "b31")
    assert bench.state["pending"]["quantity"] is None


def test_what_only_the_record_knows_is_told(say, rivets, now):
    for key in (Key.UNDO, Key.REDO):
        assert say(card(key))["data"]["code"] == "scan.nothing_to_undo"
    beyond = say("b12", "64", card(Key.ENTER))
    assert beyond["loud"]
    assert "The record held 24 fewer" in beyond["sentence"]
    assert beyond["sentence"].endswith("Count bin 12.")
    back = say(card(Key.UNDO))
    assert back["sentence"].endswith(f"It was: pull of bin 12, {now:%H:%M}.")
    assert (back["loud"], ledger.quantity_in(rivets)) == (False, 40)
    assert say(card(Key.UNDO))["data"]["code"] == "scan.nothing_to_undo"
    again = say(card(Key.REDO))
    assert "undo of bin 12" in again["sentence"]
    assert ledger.quantity_in(rivets) == 0


def test_what_a_newer_count_has_seen_is_told(say, rivets, now):
    old = {"sent_ms": 3_600_000, "at": now + timedelta(minutes=59)}
    late = say("b12", "7", card(Key.ENTER), **old)
    assert late["sentence"].endswith("a newer count has seen it: the count stands.")
    assert (late["loud"], ledger.quantity_in(rivets)) == (False, 40)


def test_a_scan_is_of_its_own_time_within_a_year(now):
    def happened(**clock):
        return Sent(uuid.uuid4(), "b12", **clock).happened(now)

    assert happened(ms=5) == happened(sent_ms=5) == now
    assert happened(ms=9000, sent_ms=2000) == now
    assert happened(ms=1000, sent_ms=3000) == now - timedelta(seconds=2)
    year = timedelta(days=365)
    assert happened(ms=0, sent_ms=2 * OLDEST) == now - year


def test_bits_are_taken_one_at_a_time(say, owner, ask):
    item = item_described(what=described("drill", size="#40"))
    bin = open_bin(item=item, by=owner, number=30)
    count(bin=bin, counted=5, ask=ask())
    refused = say("b30", "2", card(Key.ENTER))
    assert refused["data"]["code"] == "scan.one_bit"
    assert ledger.quantity_in(bin) == 5
    say("1", card(Key.ENTER))
    assert ledger.quantity_in(bin) == 4


def test_a_bit_that_was_fitted_by_mistake_was_never_taken(say, owner, ask, now):
    item = item_described(what=described("drill", size="#40"))
    bin = open_bin(item=item, by=owner, number=30)
    count(bin=bin, counted=5, ask=ask())
    later = [now + timedelta(minutes=at) for at in range(1, 6)]
    say("b30", "1", card(Key.ENTER), at=later[0])
    say("b30", "1", card(Key.ENTER), at=later[1])
    assert bits_now() == {1: "set_aside", 2: "fitted"}
    say(card(Key.UNDO), at=later[2])
    assert (ledger.quantity_in(bin), bits_now()) == (4, {1: "fitted"})
    say(card(Key.REDO), at=later[3])
    assert (ledger.quantity_in(bin), bits_now()) == (3, {1: "set_aside", 2: "fitted"})
    # One that was used is not taken back: it did drill.
    say(codes.make("T", 2), card(BitState.DULL), at=later[4])
    refused = say(card(Key.UNDO), at=later[4])
    assert refused["data"]["code"] == "forecasting.bit_used"
    assert (ledger.quantity_in(bin), bits_now()) == (3, {1: "set_aside", 2: "dull"})


def bits_now():
    return dict(Bit.objects.values_list("number", "state"))


def test_devices_are_told_by_what_came_and_what_did_not(say, bench, owner, now):
    for device, seq, minutes in (("d1", 1, 0), ("d2", 1, 1), ("d2", 4, 2)):
        say("b12", device=device, seq=seq, at=now + timedelta(minutes=minutes))
    say("b12")
    rows = device_scans()
    assert [(row.device, row.came, row.missing) for row in rows] == [
        ("d2", 2, 2),
        ("d1", 1, 0),
    ]
    assert {row.person for row in rows} == {"marlow"}
    assert rows[0].last == now + timedelta(minutes=2)


def test_two_scans_under_one_number_are_two_devices(say):
    say("b12", device="d1", seq=1)
    say("b12", seq=1)
    mine = Scan.objects.get(device="d1").pk
    assert not number_is_taken("d1", 1, mine)
    assert number_is_taken("d1", 1, uuid.uuid4())
    assert not number_is_taken("d1", 2, uuid.uuid4())
    assert not number_is_taken("", 1, uuid.uuid4())
    assert not number_is_taken("d1", None, uuid.uuid4())


def test_more_than_a_label_holds_is_no_scan(say):
    refused = say("7" * MAX_SCAN)["data"]
    assert refused == {"code": "scan.unknown", "text": "7" * 80}
    with pytest.raises(Refused, match="more than 512"):
        say("7" * (MAX_SCAN + 1))
    assert Act.objects.count() == 0


def test_an_assembly_dropped_from_the_plan_leaves_its_bench(say, bench, owner, now):
    """The page still opens; a bin's scan says what to do, and moves nothing."""
    found = importing.preview(name="plan.csv", data=PLAN.encode())
    importing.apply(found=found, by=owner, now=now)
    spar = Assembly.objects.get()
    other = Assembly.objects.create(stage=spar.stage, name="Other", position=2)
    say(codes.make("S", spar.pk))
    assert bench_view(bench, now)["assembly"]["name"] == spar.name
    number = open_bin(item=spar.needs.first().item, by=owner).number
    gone = spar.pk
    spar.delete()
    view = bench_view(bench, now)
    assert (view["assembly"], view["state"]["assembly"]) == (None, None)
    refused = say(f"b{number}")
    assert f"no assembly {gone} in the plan" in str(refused)
    say(codes.make("S", other.pk))
    assert bench_view(bench, now)["assembly"]["name"] == other.name
