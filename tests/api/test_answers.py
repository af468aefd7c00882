"""What the answers say, and what each way of asking does."""

import json
import uuid

import pytest
from django.core.exceptions import PermissionDenied
from django.http import Http404
from rest_framework.exceptions import ValidationError
from rest_framework.test import APIClient

from api.parts import MAX_ID
from api.problems import handle
from api.views import bench
from api.views.plan import assembly
from inventory.alerts.models import Alert
from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.ledger import queries
from inventory.ledger.actions.verbs import pull
from inventory.ledger.models import Bin
from inventory.ordering.models import Order, Receipt
from inventory.people.actions import register_device
from inventory.planning.actions import importing
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly, Stage
from inventory.scanning.models import Bench
from inventory.trade import codes

pytestmark = pytest.mark.django_db
API = "/api/v1/"
PLAN = """stage,start,assembly,how_many,callout,each
Fin,2027-03-20,Skin,2,AN426AD3-3.5,30
Rudder,2027-05-01,Frame,1,AN470AD4-5,9
"""


@pytest.fixture
def skin(owner, now, rivets):
    """An assembly in work, with 20 of bin 12's 40 rivets."""
    found = importing.preview(name="plan.csv", data=PLAN.encode())
    importing.apply(found=found, by=owner, now=now)
    return Assembly.objects.get(name="Skin")


@pytest.fixture
def pulled(skin, rivets, owner, now, ask):
    """Twenty of the rivets at the assembly, ten used outside the plan."""
    place = place_to_pull_for(assembly=skin, by=owner, now=now)
    for to, quantity in ((place, 20), (queries.single_place("unplanned"), 10)):
        pull(bin=rivets, quantity=quantity, to=to, ask=ask())
    return place


@pytest.fixture
def sent(device):
    """What is answered to a body."""

    def send(address, body, status=201, way="post"):
        answer = getattr(device, way)(API + address, body, format="json")
        assert answer.status_code == status, answer.content
        return answer.json()

    return send


def test_a_page_begins_after_a_row(got, pulled, rivets, owner):
    assert [row["number"] for row in got("bins")] == [12]
    assert got("bins?after=11")[0]["on_hand"] == 10
    assert got("bins?after=12") == got(f"bins?after={MAX_ID}") == []
    first, second, third = got("movements")
    assert [row["quantity"] for row in (first, second, third)] == [40, 20, 10]
    assert got(f"movements?after={second['id']}") == [third]
    items = got("items")
    assert [row["on_hand"] for row in items] == [10, 0]
    assert got(f"items?after={items[0]['id']}") == [items[1]]
    assert got("items?q=AN470") == [items[1]]
    assert got(f"items/{rivets.item_id}") == items[0]


def test_a_page_has_a_hundred_rows(got):
    rows = [Item(kind="other", key=f"{n}", words=f"{n}") for n in range(101)]
    Item.objects.bulk_create(rows)
    page = got("items")
    assert len(page) == 100
    assert len(got(f"items?after={page[-1]['id']}")) == 1


def test_an_unlikely_number_is_booked_when_somebody_is_sure(sent, rivets):
    body = {"id": str(uuid.uuid4()), "verb": "count", "bin": 12, "quantity": 99_999}
    assert sent("movements", body, 409)["code"] == "ledger.unlikely"
    assert queries.quantity_in(rivets) == 40
    sent("movements", {**body, "sure": True})
    assert queries.quantity_in(rivets) == 99_999


def test_an_unlikely_order_is_placed_when_somebody_is_sure(sent, rivets):
    line = {"callout": rivets.item.callout, "packs": 400, "pack_pieces": 1000}
    body = {"supplier": "Field supply", "lines": [line]}
    assert sent("orders", body, 409)["code"] == "ledger.unlikely"
    assert not Order.objects.exists()
    assert sent("orders", {**body, "sure": True})["lines"][0]["packs"] == 400


def test_a_bench_takes_the_shop_along(got, rivets):
    shop = got("bench/shop")
    assert shop["bins"]["12"]["item"] == rivets.item_id
    assert str(rivets.item_id) in shop["items"]


def test_a_look_is_noted_by_what_was_seen(sent, rivets):
    look = {"verb": "look", "bin": 12}
    for seen, quantity, held in (
        ({}, 38, 40),
        ({"seen": "plenty"}, 0, 40),
        ({"seen": "few"}, 0, 12),
        ({"seen": "about"}, 90, 90),
        ({"seen": "empty"}, 0, 0),
    ):
        body = {**look, **seen, "id": str(uuid.uuid4()), "quantity": quantity}
        done = sent("movements", body)
        assert sent("movements", body, 200) == {**done, "repeated": True}
        assert queries.quantity_in(rivets) == held
    body = {**look, "id": str(uuid.uuid4()), "quantity": 0}
    assert sent("movements", body, 400)["code"] == "ledger.quantity"
    many = {"verb": "count", "bin": 12, "quantity": 3000, "sure": True}
    sent("movements", {**many, "id": str(uuid.uuid4())})
    sent("movements", {**body, "id": str(uuid.uuid4()), "seen": "plenty"})
    for seen in ("few", "empty"):
        body = {**look, "id": str(uuid.uuid4()), "quantity": 0, "seen": seen}
        assert sent("movements", body, 409)["code"] == "ledger.unlikely"
    assert queries.quantity_in(rivets) == 3000
    sent("movements", {**body, "sure": True})
    assert queries.quantity_in(rivets) == 0
    assert sent("movements", {**body, "seen": "some"}, 400)["code"] == "api.shape"


@pytest.mark.parametrize(("pk", "is_coded"), [(9999, True), (10_000, False)])
def test_a_code_holds_four_digits(skin, pk, is_coded):
    skin.pk = pk
    assert assembly(skin)["code"] == (codes.make("S", pk) if is_coded else "")


@pytest.mark.parametrize("after", [MAX_ID + 1, "-1", "x", "²", "9" * 30])
def test_a_page_begins_after_no_other_word(got, after):
    assert got(f"bins?after={after}", 400)["code"] == "api.after"


@pytest.mark.parametrize(
    ("number", "code"),
    [
        (0, "api.not_found"),
        (MAX_ID + 1, "api.not_found"),
        (MAX_ID, "planning.no_stage"),
    ],
)
def test_a_number_that_no_row_can_have_is_no_address(sent, number, code):
    answer = sent(f"stages/{number}", {}, 404, "patch")
    assert answer["code"] == code


@pytest.mark.parametrize(
    ("verb", "is_planned", "held", "there", "outside"),
    [
        ("pull", True, 7, 23, 10),
        ("pull", False, 7, 20, 13),
        ("return", True, 13, 17, 10),
        ("return", False, 13, 20, 7),
        ("scrap", True, 10, 17, 10),
        ("scrap", False, 7, 20, 10),
        ("count", False, 3, 20, 10),
    ],
)
def test_each_verb_moves_between_its_places(
    sent, skin, pulled, rivets, verb, is_planned, held, there, outside
):
    body = {"id": str(uuid.uuid4()), "verb": verb, "bin": 12, "quantity": 3}
    planned = {"assembly": skin.pk} if is_planned else {}
    said = sent("movements", {**body, **planned, "reason": "r"})
    amounts = queries.quantities_at([pulled.pk, queries.single_place("unplanned").pk])
    assert queries.quantity_in(rivets) == held
    assert sorted(amounts.values()) == sorted([there, outside])
    assert said["movements"][-1]["reason"] == "r"
    assert (said["beyond"], said["movements"][-1]["by"]) == (0, "marlow")


def test_a_stage_is_dated_skipped_and_moved(got, sent, skin):
    fin, rudder = Stage.objects.all()
    address = f"stages/{fin.pk}"
    body = {"planned_start": "2027-03-30", "shift_later": True}
    assert sent(address, body, 200, "patch")["planned_start"] == "2027-03-30"
    rudder.refresh_from_db()
    assert f"{rudder.planned_start}" == "2027-05-11"
    assert sent(address, {"skipped": True}, 200, "patch")["skipped"]
    assert [row["name"] for row in got("assemblies")["results"]] == ["Frame"]
    assert not sent(address, {"skipped": False}, 200, "patch")["skipped"]
    assert sent(address, {"move": 1}, 200, "patch")["position"] == 2
    rows = got("plan")
    assert [row["name"] for row in rows] == ["Rudder", "Fin"]
    said = rows[1]["assemblies"][0]
    assert (said["name"], said["how_many"], said["state"]) == ("Skin", 2, "planned")
    assert said["code"].startswith("XS")


def test_an_assembly_is_closed_with_what_is_left(sent, skin, pulled, rivets):
    Assembly.objects.filter(pk=skin.pk).update(how_many=1)
    skin.needs.update(each=18)
    body = {"left": [{"item": rivets.item_id, "back": 2}], "note": "Deburred."}
    assert sent(f"assemblies/{skin.pk}/close", body, 200)["state"] == "closed"
    assert queries.quantity_in(rivets) == 12
    assert skin.close_ups.get().note == "Deburred."
    assert sent(f"assemblies/{skin.pk}/reopen", {}, 200)["state"] == "in_work"


@pytest.mark.parametrize(
    ("body", "said"),
    [({"seen": True}, (True, False)), ({"snooze_days": 1}, (False, True))],
)
def test_an_alert_is_seen_or_put_off(got, sent, now, body, said):
    Alert.objects.create(
        subject="bin 12",
        cause="count",
        episode=1,
        title="Count bin 12",
        raised_at=now,
        updated_at=now,
    )
    (row,) = got("alerts")
    fresh = sent(f"alerts/{row['id']}", body, 200, "patch")
    assert (bool(fresh["seen_at"]), bool(fresh["snoozed_until"])) == said
    assert got("alerts") == [fresh]


@pytest.mark.slow
def test_readiness_is_told_as_it_is_and_as_supposed(got, skin):
    plain = got("readiness")
    assert got("readiness?away_days=0&faster=1") == plain
    assert got("readiness?away_days=9") != plain
    for wrong in ("away_days=many", "faster=much", "away_days=1001"):
        assert got(f"readiness?{wrong}", 400)["code"] == "planning.what_if"


@pytest.mark.parametrize(
    ("parcel", "pieces"),
    [
        ({"pieces": 60, "grams": "8.1"}, 60),
        ({"grams": "24.3", "sample_pieces": 100, "sample_grams": "8.1"}, 300),
    ],
)
def test_a_parcel_without_an_order_is_counted_or_weighed(sent, rivets, parcel, pieces):
    body = {"id": str(uuid.uuid4()), "bin": 12, **parcel}
    said = sent("receipts", {**body, "supplier": "Field supply", "lot": "R-1"})
    (row,) = said["movements"]
    assert (row["source"], row["lot"], row["quantity"]) == (
        "Field supply",
        "R-1",
        pieces,
    )
    assert (Receipt.objects.get().line, Receipt.objects.get().closes) == (None, False)
    again = sent("receipts", {**body, "id": str(uuid.uuid4())})
    assert again["movements"][0]["source"] == "no order"
    nothing = {"id": str(uuid.uuid4()), "bin": 12}
    assert sent("receipts", nothing, 400)["code"] == "supply.quantity"


def test_an_order_says_what_is_missing_and_what_waits_for_it(got, sent, skin, rivets):
    line = {"callout": rivets.item.callout, "packs": 2, "pack_grams": "50"}
    body = {"supplier": "Field supply", "lines": [line], "reference": "H-1"}
    days = {"placed_on": "2027-02-01", "expected_on": "2027-02-09"}
    order = sent("orders", {**body, **days})
    assert {name: order[name] for name in days} == days
    assert (order["supplier"], order["reference"]) == ("Field supply", "H-1")
    (row,) = order["lines"]
    assert (row["pack_grams"], row["blocks"]) == (50.0, ["Fin / Skin"])
    assert got(f"orders/{order['number']}") == got("orders")[0] == order
    parcel = {"id": str(uuid.uuid4()), "bin": 12, "line": row["id"], "pieces": 7}
    sent("receipts", {**parcel, "closes": True})
    (row,) = got(f"orders/{order['number']}")["lines"]
    assert (row["received"], row["missing"], row["blocks"]) == (7, 0, [])


def test_a_bin_is_opened_by_kind_or_callout(got, sent):
    drill = {"kind": "drill", "size": "#40", "form": "plain", "spot": "rack A"}
    row = sent("bins", {**drill, "keep_level": 3})
    assert (row["number"], row["spot"], row["keep_level"]) == (1, "rack A", 3)
    assert (row["on_hand"], row["count_it"]) == (0, False)
    named = sent("bins", {"kind": "sealant", "name": "Tank", "callout": "T-1"})
    assert sent("bins", {"callout": "T-1"})["item"] == named["item"]
    assert sent("bins/1", {"spot": "B"}, 200, "patch")["spot"] == "B"
    assert got("bins/1")["keep_level"] == 3
    assert Bin.objects.count() == 3


@pytest.mark.parametrize(
    ("more", "shift", "skip", "dpi"),
    [
        ({}, (0.0, 0.0), 0, 300),
        ({"right": 1.5, "down": -2, "skip": 3, "dpi": 203}, (1.5, -2.0), 3, 203),
    ],
)
def test_labels_are_shifted_and_begun_as_asked(
    device, rivets, monkeypatch, more, shift, skip, dpi
):
    asked = []
    monkeypatch.setattr(bench, "label_pdf", lambda **how: asked.append(how) or b"%PDF")
    body = {"bins": [12, 12], "sheet": "letter", **more}
    answer = device.post(API + "labels", body, format="json")
    assert (answer.status_code, answer.content) == (200, b"%PDF")
    (how,) = asked
    assert (how["bins"], how["bits"], how["sheet"]) == ([rivets], [], "letter")
    assert (how["offset_mm"], how["skip"], how["dpi"]) == (shift, skip, dpi)


def test_a_bench_is_a_devices_a_browsers_or_a_sessions(got, owner, client):
    assert got("bench?device=abc")["bench"].startswith("device ")
    client.force_login(owner)

    def key(address):
        return client.get(API + address).json()["bench"]

    assert key("bench?device=abc") == f"browser {owner.pk} abc"
    assert key("bench") == key("bench") != key("bench?device=d")
    body = {"id": str(uuid.uuid4()), "code": "b1", "device": "abc"}
    said = client.post(API + "scans", body, content_type="application/json").json()
    assert said["bench"]["bench"] == f"browser {owner.pk} abc"
    assert Bench.objects.count() == 4


@pytest.mark.parametrize(
    ("header", "status"),
    [
        ("bearer {}", 200),
        ("Bearer {}", 200),
        ("Token {}", 401),
        ("Bearer {} more", 401),
        ("Bearer", 401),
    ],
)
def test_a_token_is_brought_as_a_bearer(owner, now, header, status):
    _device, token = register_device(name="bench 1", by=owner, now=now)
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=header.format(token))
    answer = client.get(API + "bins")
    assert answer.status_code == status
    if status == 401:
        assert answer["WWW-Authenticate"] == "Bearer"


@pytest.mark.parametrize(
    ("error", "status", "code", "detail"),
    [
        (Http404(), 404, "api.not_found", "nothing at this address"),
        (PermissionDenied(), 403, "api.forbidden", "may not"),
        (Refused("ledger.undone", "Undone."), 409, "ledger.undone", "Undone."),
        (
            ValidationError({"lines": [{"packs": ["Too many."]}]}),
            400,
            "api.shape",
            "packs: Too many.",
        ),
        (
            ValidationError({"non_field_errors": ["Not both."]}),
            400,
            "api.shape",
            "Not both.",
        ),
    ],
)
def test_an_error_becomes_its_problem(error, status, code, detail):
    answer = handle(error, {})
    said = json.loads(answer.content)
    assert (answer.status_code, said["status"], said["code"]) == (status, status, code)
    assert detail in said["detail"]
    assert said["title"] == code.replace(".", ": ").replace("_", " ")
    assert handle(RuntimeError(), {}) is None
