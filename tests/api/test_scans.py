"""The evening at the bench through the API: scan, pull, undo, and what goes wrong."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.test import APIClient

from inventory.catalog.actions import item_for_callout
from inventory.ledger import queries
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.models import Act
from inventory.planning.actions import importing
from inventory.planning.models import Assembly
from inventory.scanning.models import Scan
from inventory.scanning.queries.arrived import device_scans
from inventory.trade import codes

pytestmark = pytest.mark.django_db
BIN, ENTER = codes.make("B", 12), codes.make("C", 9)


@pytest.fixture
def skin(owner, now):
    """An assembly that asks for 30 of bin 12's rivet."""
    text = "stage,assembly,callout,each\nFin,Skin,AN426AD3-3.5,30\n"
    found = importing.preview(name="plan.csv", data=text.encode())
    importing.apply(found=found, by=owner, now=now)
    return Assembly.objects.get()


def send(device, code, ms=0, scan_id=None):
    body = {"id": scan_id or str(uuid.uuid4()), "code": code, "ms": ms}
    answer = device.post("/api/v1/scans", body, format="json")
    assert answer.status_code == 200, answer.content
    return answer.json()


@pytest.mark.slow
def test_scan_assembly_scan_bin_scan_again_pulls_what_is_asked(
    device, rivets, skin, django_capture_on_commit_callbacks
):
    send(device, codes.make("S", skin.pk))
    opened = send(device, BIN, ms=1000)
    assert opened["bench"]["state"]["pending"]["quantity"] == 30
    assert queries.quantity_in(rivets) == 40
    with django_capture_on_commit_callbacks() as woken:
        done = send(device, BIN, ms=3000)
    assert len(woken) == 1
    assert (done["kind"], done["tone"]) == ("committed", "taken")
    assert queries.quantity_in(rivets) == 10
    (asked,) = done["changed"]["asks"].values()
    assert asked == {"pulled": 30, "remaining": 0}
    assert done["changed"]["line"]["quantity"] == 30
    assert done["changed"]["bins"] == {"12": 10}
    assert device.get("/api/v1/bench").json()["assembly"]["asks"][0]["remaining"] == 0


def test_a_double_trigger_within_0_8_s_is_ignored(device, rivets, skin):
    send(device, codes.make("S", skin.pk))
    send(device, BIN, ms=1000)
    assert send(device, BIN, ms=1700)["kind"] == "ignored"
    assert queries.quantity_in(rivets) == 40


def test_the_neighbour_half_a_length_off_is_said_loudly(device, rivets, skin, owner):
    wrong = open_bin(item=item_for_callout(text="MS20426AD3-3"), by=owner, number=13)
    send(device, codes.make("S", skin.pk))
    said = send(device, wrong.code)
    assert said["loud"]
    assert said["tone"] == "stop"
    assert "does not ask for" in said["sentence"]
    assert "bin 12" in said["sentence"]


@pytest.mark.slow
def test_keyed_quantity_enter_and_undo(device, rivets, skin):
    send(device, codes.make("S", skin.pk))
    send(device, BIN)
    send(device, "64")
    said = send(device, codes.make("C", 9))
    assert "24" in said["sentence"]
    assert said["loud"]
    assert queries.quantity_in(rivets) == 0
    send(device, codes.make("C", 6))
    assert queries.quantity_in(rivets) == 40
    assert queries.flaws() == []


@pytest.mark.slow
def test_digit_cards_append_and_a_card_of_ten_sets(device, rivets, skin):
    send(device, codes.make("S", skin.pk))
    send(device, BIN)
    send(device, codes.make("N", 1))
    assert (
        send(device, codes.make("N", 2))["bench"]["state"]["pending"]["quantity"] == 12
    )
    assert (
        send(device, codes.make("N", 25))["bench"]["state"]["pending"]["quantity"] == 25
    )


@pytest.mark.slow
def test_the_same_id_again_moves_nothing_and_answers_the_same(device, rivets, skin):
    send(device, codes.make("S", skin.pk))
    send(device, BIN, ms=0)
    one = str(uuid.uuid4())
    first = send(device, BIN, ms=2000, scan_id=one)
    again = send(device, BIN, ms=9000, scan_id=one)
    assert again["act"] == first["act"]
    assert queries.quantity_in(rivets) == 10
    other = device.post("/api/v1/scans", {"id": one, "code": "5"}, format="json")
    assert other.status_code == 422
    assert other["Content-Type"] == "application/problem+json"
    assert other.json()["code"] == "ledger.scan_id_reused"


@pytest.mark.slow
def test_count_return_and_scrap_by_card(device, rivets, skin):
    send(device, codes.make("S", skin.pk))
    for card, quantity, left in (
        (1, "38", 2),
        (4, "8", 2),
        (2, "10", 12),
        (3, "11", 11),
    ):
        send(device, codes.make("C", card))
        send(device, BIN)
        send(device, quantity)
        assert send(device, codes.make("C", 9))["kind"] == "committed"
        assert queries.quantity_in(rivets) == left
    asks = device.get("/api/v1/bench").json()["assembly"]["asks"]
    assert asks[0]["pulled"] == 20


BAD = (
    *("XB001299", "XB999914", "ZZ-UNKNOWN", "0", "-5", "1000000000", "six", "1.5"),
    *("\x1d\x1e\x04", "=HYPERLINK(1)", "http://elsewhere.example/s/XB00"),
)


def test_bad_input_gets_a_sentence_and_moves_nothing(device, rivets, skin):
    send(device, codes.make("S", skin.pk))
    send(device, BIN)
    before = Act.objects.count()
    for code in BAD:
        said = send(device, code)
        assert said["kind"] == "refused", code
        assert len(said["sentence"]) > 20, code
    assert Act.objects.count() == before
    assert queries.quantity_in(rivets) == 40


@pytest.mark.slow
def test_a_double_enter_writes_once(device, rivets, skin):
    send(device, codes.make("S", skin.pk))
    send(device, BIN)
    send(device, codes.make("C", 9))
    assert send(device, codes.make("C", 9))["kind"] == "refused"
    assert queries.quantity_in(rivets) == 10


def test_a_stranger_gets_a_problem_and_no_data(rivets):
    answer = APIClient().get("/api/v1/bins")
    assert answer.status_code == 401
    assert answer.json()["code"]
    bad = APIClient()
    bad.credentials(HTTP_AUTHORIZATION="Bearer nothing")
    assert bad.get("/api/v1/bins").status_code == 401


def test_an_order_comes_in_part_and_stays_visible(device, rivets, skin):
    placed = device.post(
        "/api/v1/orders",
        {
            "supplier": "Hangar supply",
            "lines": [{"callout": "MS20426AD3-3.5", "packs": 2, "pack_pieces": 100}],
        },
        format="json",
    )
    assert placed.status_code == 201, placed.content
    line = placed.json()["lines"][0]
    assert line["missing"] == 200
    body = {
        "id": str(uuid.uuid4()),
        "bin": 12,
        "line": line["id"],
        "pieces": 90,
        "lot": "R-1",
    }
    for status in (201, 200):
        answer = device.post("/api/v1/receipts", body, format="json")
        assert answer.status_code == status
    assert queries.quantity_in(rivets) == 130
    order = device.get(f"/api/v1/orders/{placed.json()['number']}").json()
    assert order["lines"][0]["missing"] == 110
    assert order["lines"][0]["blocks"] == ["Fin / Skin"]


def test_a_gap_in_a_devices_numbers_is_told(device, rivets, owner, client):
    for seq in (1, 2, 5):
        body = {"id": str(uuid.uuid4()), "code": BIN, "device": "d" * 36, "seq": seq}
        assert device.post("/api/v1/scans", body, format="json").status_code == 200
    (row,) = device_scans()
    assert (row.came, row.missing) == (3, 2)
    client.force_login(owner)
    assert "2 not arrived" in client.get("/settings/").content.decode()


# Statements a scan may ask, BEGIN, COMMIT and savepoints among them.
MOST_ASKED = {"open": 17, "quantity": 9, "commit": 30}


@pytest.mark.slow
def test_a_scan_asks_the_database_little_however_much_it_holds(
    device, rivets, skin, owner, now, ask
):
    """Neither bins, needs nor history make it ask more."""

    def asked():
        found = {}
        for name, code in (("open", BIN), ("quantity", "2"), ("commit", ENTER)):
            with CaptureQueriesContext(connection) as statements:
                send(device, code)
            found[name] = len(statements)
        return found

    send(device, codes.make("S", skin.pk))
    asked()  # the first pull puts the assembly in work
    lean = asked()
    assert all(lean[name] <= most for name, most in MOST_ASKED.items()), lean
    rows = ["stage,assembly,callout,each", "Fin,Skin,AN426AD3-3.5,30"]
    for length in range(4, 12):
        callout = f"MS20426AD3-{length}"
        bin = open_bin(item=item_for_callout(text=callout), by=owner)
        rows.append(f"Fin,Skin,{callout},9")
        verbs.count(bin=bin, counted=50, ask=ask())
    text = "\n".join(rows).encode()
    importing.apply(
        found=importing.preview(name="plan.csv", data=text), by=owner, now=now
    )
    for _ in range(12):
        asked()
    assert asked() == lean


def test_what_waited_is_taken_in_order_and_once(device, rivets, skin):
    """As if each had come alone: a refusal is an answer too, and what follows goes on."""
    waited = [
        codes.make("S", skin.pk),
        BIN,
        "no code of ours",
        BIN,
        codes.make("B", 77),
    ]
    rows = [
        {"id": str(uuid.uuid4()), "code": code, "ms": 3000 * at}
        for at, code in enumerate(waited)
    ]
    many = "/api/v1/scans/many"
    done = device.post(many, {"scans": rows}, format="json").json()
    assert done["stopped"] is None
    assert len(done["answers"]) == len(rows)
    assert done["answers"][3]["kind"] == "committed"
    assert queries.quantity_in(rivets) == 10
    again = device.post(many, {"scans": rows}, format="json").json()
    assert [row["act"] for row in again["answers"]] == [
        row["act"] for row in done["answers"]
    ]
    assert queries.quantity_in(rivets) == 10
    for row, answer in zip(rows, again["answers"], strict=True):
        alone = send(device, row["code"], row["ms"], row["id"])
        assert (alone["kind"], alone["sentence"]) == (
            answer["kind"],
            answer["sentence"],
        )


def test_a_used_id_stops_what_waited_behind_it(device, rivets):
    first, other, last = (
        {"id": str(uuid.uuid4()), "code": codes.make("B", n)} for n in (12, 12, 12)
    )
    send(device, other["code"], scan_id=other["id"])
    told = {"scans": [first, other | {"code": codes.make("C", 1)}, last]}
    answer = device.post("/api/v1/scans/many", told, format="json")
    assert answer.status_code == 200
    assert len(answer.json()["answers"]) == 1
    assert answer.json()["stopped"]["code"] == "ledger.scan_id_reused"
    assert Scan.objects.count() == 2
    for scans in ([], [first] * 201, [{"id": "x"}], "none"):
        sent = {"scans": scans}
        refused = device.post("/api/v1/scans/many", sent, format="json")
        assert refused.status_code == 400
