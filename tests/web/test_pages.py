"""What people do on the pages: it happens once, or a sentence says why not."""

import os
import time
import uuid
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from inventory.alerts.models import Alert
from inventory.catalog.models import Item
from inventory.ledger.queries import Bin, Movement, bin_numbered, bins, held_in
from inventory.people.models import Device, User
from inventory.people.queries import device_of, shop
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly, Need, Stage
from inventory.supply.models import Order, Receipt
from inventory.trade import codes
from tests.web.conftest import PLAN

Said = Callable[[Any], str]


def file(data: bytes, name: str = "plan.csv") -> SimpleUploadedFile:
    """A file as a browser sends it."""
    return SimpleUploadedFile(name, data)


def fields(response: Any) -> dict[str, str]:
    """What the 'apply' form of a preview carries."""
    return dict(response.context["apply"].initial)


def test_a_plan_is_looked_at_first_and_then_applied(page: Client) -> None:
    looked = page.post(reverse("plan-import"), {"file": file(PLAN)})

    assert looked.status_code == 200
    assert b"new stage: Fin" in looked.content
    assert not Stage.objects.exists()

    applied = page.post(reverse("plan-apply"), fields(looked), follow=True)

    assert b"changes made" in applied.content
    assert list(Stage.objects.values_list("name", flat=True)) == ["Fin", "Rudder"]
    assert page.post(reverse("plan-apply"), fields(looked)).status_code == 404


def test_bad_rows_are_named_and_stop_the_import(page: Client, sentence: Said) -> None:
    bad = PLAN + b"Rudder,,Frame,1,AN470AD4-5,many,,\n"
    looked = page.post(reverse("plan-import"), {"file": file(bad)})
    assert b"bad row" in looked.content
    assert b"many" in looked.content

    stopped = page.post(reverse("plan-apply"), fields(looked))

    assert stopped.status_code == 400
    assert "1 rows cannot be taken" in sentence(stopped)
    assert not Stage.objects.exists()

    rest = {**fields(looked), "good_rows_only": "on"}
    assert page.post(reverse("plan-apply"), rest).status_code == 302
    assert Need.objects.count() == 3


def test_a_preview_that_is_no_longer_true_is_not_applied(
    page: Client, sentence: Said
) -> None:
    looked = page.post(reverse("plan-import"), {"file": file(PLAN)})
    other = page.post(reverse("plan-import"), {"file": file(PLAN[:120] + b"\n")})
    page.post(reverse("plan-apply"), fields(other))
    before = Need.objects.count()

    stopped = page.post(reverse("plan-apply"), fields(looked))

    assert stopped.status_code == 409
    assert "changed since you looked" in sentence(stopped)
    assert Need.objects.count() == before


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"\x00\x01" * 50, "neither CSV nor XLSX"),
        (b"a,b\n1,2\n", "column"),
    ],
)
def test_a_file_that_is_no_plan_is_refused(
    page: Client, sentence: Said, data: bytes, said: str
) -> None:
    response = page.post(reverse("plan-import"), {"file": file(data)})

    assert response.status_code == 400
    assert said in sentence(response)


def test_no_file_at_all_is_refused(page: Client, sentence: Said) -> None:
    response = page.post(reverse("stock-import"), {})

    assert response.status_code == 400
    assert sentence(response).startswith("File (CSV or XLSX): ")


def test_an_upload_is_never_read_from_elsewhere(page: Client) -> None:
    asked = {"sha256": "../../etc/passwd", "name": "x", "seen": "y"}

    assert page.post(reverse("plan-apply"), asked).status_code == 400


def test_the_stock_example_can_be_imported_as_it_is(page: Client) -> None:
    example = page.get(reverse("stock-example"))
    looked = page.post(
        reverse("stock-import"), {"file": file(example.content, "stock.csv")}
    )
    assert not bins().exists()

    page.post(reverse("stock-apply"), fields(looked))

    assert held_in(bin_numbered(1)) == 1400


def test_a_stage_gets_another_date_and_takes_the_next_along(
    page: Client, planned: list[Stage]
) -> None:
    Stage.objects.filter(pk=planned[1].pk).update(planned_start=date(2027, 4, 20))
    data = {"start": "2027-03-30", "shift_later": "on"}

    response = page.post(reverse("stage-date", args=[planned[0].pk]), data)

    assert response.status_code == 302
    starts = Stage.objects.order_by("position").values_list("planned_start", flat=True)
    assert list(starts) == [date(2027, 3, 30), date(2027, 4, 30)]


def test_a_date_that_is_none_keeps_the_old_one(
    page: Client, planned: list[Stage], sentence: Said
) -> None:
    response = page.post(
        reverse("stage-date", args=[planned[0].pk]), {"start": "31 of March"}
    )

    assert response.status_code == 400
    assert sentence(response).startswith("New start: ")
    assert b"31 of March" in response.content
    assert Stage.objects.get(pk=planned[0].pk).planned_start == date(2027, 3, 20)


def test_stages_move_and_are_skipped(page: Client, planned: list[Stage]) -> None:
    page.post(reverse("stage-move", args=[planned[1].pk]), {"places": "-1"})
    page.post(reverse("stage-skip", args=[planned[0].pk]), {"skipped": "on"})

    rows = Stage.objects.order_by("position").values_list("name", "skipped")
    assert list(rows) == [("Rudder", False), ("Fin", True)]
    page.post(reverse("stage-skip", args=[planned[0].pk]))
    assert not Stage.objects.filter(skipped=True).exists()
    odd = page.post(reverse("stage-move", args=[planned[1].pk]), {"places": "7"})
    assert odd.status_code == 400


def test_an_assembly_closes_once_and_opens_again(
    page: Client, spar: Assembly, owner: User, now: Any, sentence: Said
) -> None:
    early = page.post(reverse("assembly-close", args=[spar.pk]))
    assert early.status_code == 409
    assert "only an assembly in work" in sentence(early)

    place_to_pull_for(assembly=spar, by=owner, now=now)
    assert page.post(reverse("assembly-close", args=[spar.pk])).status_code == 302
    assert Assembly.objects.get(pk=spar.pk).state == "closed"
    page.post(reverse("assembly-reopen", args=[spar.pk]))
    assert Assembly.objects.get(pk=spar.pk).state == "in_work"


def test_the_first_page_names_the_one_item_in_the_way(
    page: Client, planned: list[Stage], rivets: Bin
) -> None:
    stages = page.get(reverse("home")).context["stages"]

    assert [each.verdict for each in stages] == ["ready but for", "ready but for"]
    assert stages[0].way.words == "3/32 flush, 1/4 long"


def test_a_late_stage_asks_for_a_new_date(page: Client, planned: list[Stage]) -> None:
    Stage.objects.filter(pk=planned[0].pk).update(planned_start=date(2020, 1, 1))

    response = page.get(reverse("home"))

    assert b"When does it start now?" in response.content
    assert reverse("stage-date", args=[planned[0].pk]).encode() in response.content


def test_what_arrives_is_received_once(page: Client, order: Order) -> None:
    found = reverse("receive-line", args=[order.lines.get().pk])
    data = {"scan_id": str(uuid.uuid4()), "bin": "12", "pieces": "60", "lot": "R-1"}

    first = page.post(found, data, follow=True)
    again = page.post(found, data, follow=True)

    assert b"That is 40 short of 100." in first.content
    assert again.status_code == 200
    assert held_in(bin_numbered(12)) == 100
    assert Receipt.objects.get().pieces == 60


def test_more_than_ordered_is_said(page: Client, order: Order) -> None:
    found = reverse("receive-line", args=[order.lines.get().pk])
    data = {"scan_id": str(uuid.uuid4()), "bin": "12", "pieces": "103"}

    assert b"That is 3 over." in page.post(found, data, follow=True).content


def test_a_delivery_is_weighed_with_a_sample(page: Client, order: Order) -> None:
    found = reverse("receive-line", args=[order.lines.get().pk])
    data = {
        "scan_id": str(uuid.uuid4()),
        "bin": "12",
        "grams": "8.1",
        "sample_pieces": "50",
        "sample_grams": "4.05",
    }

    page.post(found, data)

    assert held_in(bin_numbered(12)) == 140
    assert bin_numbered(12).item.mass_is_weighed


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"pieces": ""}, "Key the pieces, or the grams"),
        ({"grams": "5"}, "not both"),
        ({"pieces": "-4"}, "Pieces counted: "),
        ({"pieces": "1e3"}, "Pieces counted: "),
        ({"bin": "99"}, "Into bin: "),
        ({"expires_on": "2027-02-30"}, "Life ends on: "),
        ({"scan_id": "odd"}, "form of a UUID"),
    ],
)
def test_an_odd_delivery_moves_nothing(
    page: Client, order: Order, sentence: Said, change: dict[str, str], said: str
) -> None:
    moved = Movement.objects.count()
    data = {"scan_id": str(uuid.uuid4()), "bin": "12", "pieces": "60", **change}

    response = page.post(reverse("receive-line", args=[order.lines.get().pk]), data)

    assert response.status_code == 400
    assert said in sentence(response)
    assert Movement.objects.count() == moved


def test_something_arrives_without_an_order(page: Client, rivets: Bin) -> None:
    data = {
        "scan_id": str(uuid.uuid4()),
        "supplier": "A friend",
        "bin": "12",
        "pieces": "5",
    }

    assert page.post(reverse("receive-bin", args=[12]), data).status_code == 302
    assert held_in(rivets) == 45
    assert Receipt.objects.get().line is None


def lines(*rows: dict[str, str]) -> dict[str, str]:
    """The rows of a new order as its form sends them."""
    found = {"line-TOTAL_FORMS": str(len(rows)), "line-INITIAL_FORMS": "0"}
    for at, row in enumerate(rows):
        found |= {f"line-{at}-{key}": value for key, value in row.items()}
    return found


def test_an_order_is_noted_with_its_lines(page: Client) -> None:
    head = {"supplier": "Hangar supply", "placed_on": "2027-03-01"}
    rows = lines(
        {"callout": "AN470AD4-5", "packs": "2", "pack_pieces": "250"},
        {},
        {"callout": "MS20426AD3-3.5", "packs": "1", "pack_grams": "113.4"},
    )

    response = page.post(reverse("order-new"), head | rows, follow=True)

    assert b"Order 1 is noted" in response.content
    assert Order.objects.get().lines.count() == 2


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({}, "no lines"),
        ({"callout": "AN470AD4-5", "packs": "2"}, "How many pieces"),
        ({"callout": "AN470AD4-5", "packs": "0", "pack_pieces": "5"}, "1 to 10,000"),
        ({"callout": "AN470AD4-5", "packs": "x", "pack_pieces": "5"}, "Packs: "),
    ],
)
def test_an_order_that_asks_nothing_is_not_noted(
    page: Client, sentence: Said, row: dict[str, str], said: str
) -> None:
    head = {"supplier": "Hangar supply", "placed_on": "2027-03-01"}

    response = page.post(reverse("order-new"), head | lines(row))

    assert response.status_code == 400
    assert said in sentence(response)
    assert b'value="Hangar supply"' in response.content
    assert not Order.objects.exists()


def test_a_line_is_no_longer_waited_for(page: Client, order: Order) -> None:
    assert b"still to come" in page.get(reverse("order", args=[1])).content

    page.post(reverse("line-drop", args=[order.lines.get().pk]))

    assert b"no longer waited for" in page.get(reverse("order", args=[1])).content
    assert b"Nothing is owed" in page.get(reverse("orders")).content


def test_an_order_is_expected_on_another_day(
    page: Client, order: Order, sentence: Said
) -> None:
    found = reverse("order-expect", args=[1])

    page.post(found, {"on": "2027-03-09"})
    early = page.post(found, {"on": "2027-01-01"})

    assert "before the order was placed" in sentence(early)
    assert Order.objects.get().expected_on == date(2027, 3, 9)


def test_a_bin_is_made_from_a_callout_or_a_description(page: Client) -> None:
    page.post(reverse("bin-new"), {"callout": "AN470AD4-5", "number": "7"})
    page.post(reverse("bin-new"), {"kind": "drill", "size": "#40", "form": "6 in"})

    assert [bin.item.words for bin in bins()] == [
        "1/8 universal, 5/16 long",
        "#40 drill, 6 in",
    ]


@pytest.mark.parametrize(
    ("data", "status", "said"),
    [
        ({}, 400, "There is no callout"),
        ({"callout": "AN470AD4-5", "number": "12"}, 409, "Bin 12 exists already"),
        ({"callout": "AN470AD4-5", "number": "10000"}, 400, "numbered 1 to 9999"),
        ({"kind": "drill", "callout": "D"}, 400, "needs a size"),
    ],
)
def test_an_odd_bin_is_not_made(
    page: Client,
    rivets: Bin,
    sentence: Said,
    data: dict[str, str],
    status: int,
    said: str,
) -> None:
    response = page.post(reverse("bin-new"), data)

    assert response.status_code == status
    assert said in sentence(response)
    assert bins().count() == 1


def test_a_bin_changes_its_spot_and_keep_level(page: Client, rivets: Bin) -> None:
    page.post(reverse("bin-change", args=[12]), {"spot": "shelf 2", "keep_level": "90"})

    row = bin_numbered(12)
    assert (row.spot, row.keep_level) == ("shelf 2", 90)
    assert b"under it" in page.get(reverse("bin", args=[12])).content


def test_bins_are_found_by_word_spot_and_number(page: Client, rivets: Bin) -> None:
    for text in ("flush", "ms20426", "rack a", "12"):
        assert len(page.get(reverse("bins"), {"q": text}).context["rows"]) == 1
    assert not page.get(reverse("bins"), {"q": "universal"}).context["rows"]
    assert not page.get(reverse("bins"), {"flag": "count"}).context["rows"]


def test_a_bin_that_is_not_there_is_said(page: Client, sentence: Said) -> None:
    response = page.get(reverse("bin", args=[77]))

    assert response.status_code == 404
    assert "There is no bin 77" in sentence(response)


def test_a_sample_on_the_scale_teaches_the_weight(page: Client, rivets: Bin) -> None:
    found = reverse("item-weigh", args=[rivets.item_id])

    odd = page.post(found, {"pieces": "100", "grams": "0"})
    page.post(found, {"pieces": "100", "grams": "8.10"})

    assert odd.status_code == 400
    assert Item.objects.get(pk=rivets.item_id).piece_mass_mg == 81


def test_a_label_leads_to_its_page(page: Client, rivets: Bin, sentence: Said) -> None:
    bin_code, assembly_code = rivets.code, codes.make("S", 3)

    assert page.get(f"/S/{bin_code}")["Location"] == reverse("bin", args=[12])
    assert page.get(f"/s/{bin_code.lower()}")["Location"] == reverse("bin", args=[12])
    assert page.get(f"/S/{assembly_code}")["Location"] == reverse("assembly", args=[3])
    assert page.get("/S/XB001299").status_code == 400
    assert page.get(f"/S/{codes.make('C', 1)}").status_code == 404


def test_the_bench_opens_the_assembly_it_was_asked_for(
    page: Client, spar: Assembly, owner: User
) -> None:
    response = page.get(reverse("bench"), {"assembly": spar.pk})

    assert f'data-choose="{codes.make("S", spar.pk)}"'.encode() in response.content
    assert codes.make("C", 1).encode() in response.content
    assert page.get(reverse("bench"), {"assembly": 999}).status_code == 404


@pytest.fixture
def alert(db: None, now: Any) -> Alert:
    """One that nobody has seen."""
    return Alert.objects.create(
        subject="bin 12",
        cause="count",
        episode=1,
        title="Count bin 12",
        sentence="It is in doubt.",
        raised_at=now,
        updated_at=now,
    )


def test_an_alert_is_seen_and_put_off(page: Client, alert: Alert, owner: User) -> None:
    assert page.get(reverse("home")).context["unseen"] == 1

    page.post(reverse("alert-seen", args=[alert.pk]))
    assert page.get(reverse("home")).context["unseen"] == 0
    page.post(reverse("alert-snooze", args=[alert.pk]), {"days": "3"})

    alert.refresh_from_db()
    assert alert.seen_by == owner
    assert alert.snoozed_until is not None
    assert not page.get(reverse("alerts")).context["rows"]


@pytest.mark.parametrize("days", ["0", "366", "", "soon"])
def test_an_alert_is_not_put_off_for_ever(
    page: Client, alert: Alert, days: str
) -> None:
    response = page.post(reverse("alert-snooze", args=[alert.pk]), {"days": days})

    alert.refresh_from_db()
    assert response.status_code == 400
    assert alert.snoozed_until is None


def test_labels_come_as_a_pdf(page: Client, rivets: Bin, sentence: Said) -> None:
    data = {"sheet": "a4", "skip": "0", "right": "0.5", "down": "-1", "bin": "12"}

    response = page.post(reverse("labels"), data)
    none = page.post(reverse("labels"), {**data, "bin": []})

    assert response["Content-Type"] == "application/pdf"
    assert response.content.startswith(b"%PDF")
    assert "No bin was chosen" in sentence(none)
    for odd in ({"right": "nan"}, {"skip": "99"}, {"sheet": "a0"}, {"bin": "x"}):
        assert page.post(reverse("labels"), {**data, **odd}).status_code == 400


def test_the_settings_are_kept_or_refused(page: Client, sentence: Said) -> None:
    good = {
        "name": "Hangar 4",
        "mail_to": "",
        "stage_confidence": "0.9",
        "pace_days": "20",
        "lead_days": "6",
        "bit_life_holes": "250",
    }

    page.post(reverse("settings"), good)
    odd = page.post(reverse("settings"), {**good, "stage_confidence": "2"})

    assert odd.status_code == 400
    assert sentence(odd).startswith("Stage confidence: ")
    assert (shop().name, float(shop().stage_confidence)) == ("Hangar 4", 0.9)


def test_a_device_shows_its_token_once_and_is_revoked(
    page: Client, sentence: Said
) -> None:
    shown = page.post(reverse("device-new"), {"name": "bench phone"})
    token = shown.context["token"]
    again = page.post(reverse("device-new"), {"name": "bench phone"})

    device = device_of(token)
    assert device is not None
    assert token.encode() not in page.get(reverse("settings")).content
    assert "called bench phone already" in sentence(again)
    page.post(reverse("device-revoke", args=[Device.objects.get().pk]))
    assert device_of(token) is None


def test_old_uploads_are_forgotten(page: Client, settings: Any) -> None:
    page.post(reverse("plan-import"), {"file": file(PLAN)})
    (kept,) = (settings.DATA / "uploads").iterdir()
    old = time.time() - timedelta(days=2).total_seconds()
    os.utime(kept, (old, old))

    page.post(reverse("plan-import"), {"file": file(PLAN + b"\n")})

    assert not kept.exists()
