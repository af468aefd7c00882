"""What people do on the pages: it happens once, or a sentence says why not."""

import html
import re
from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.alerts.models import Alert
from inventory.catalog.actions import item_for_callout
from inventory.catalog.models import Item
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.queries import Bin, bin_numbered, bins
from inventory.people.models import Device, User
from inventory.people.queries import device_of, shop
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly, Stage
from inventory.trade import codes
from tests.web.conftest import Said


@pytest.mark.slow
def test_a_stage_gets_another_date_and_takes_the_next_along(
    page: Client, planned: list[Stage]
) -> None:
    Stage.objects.filter(pk=planned[1].pk).update(planned_start=date(2027, 4, 20))
    data = {"start": "2027-03-30", "shift_later": "on"}

    response = page.post(reverse("stage-date", args=[planned[0].pk]), data)

    assert response.status_code == 302
    starts = Stage.objects.order_by("position").values_list("planned_start", flat=True)
    assert list(starts) == [date(2027, 3, 30), date(2027, 4, 30)]


@pytest.mark.slow
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


@pytest.mark.slow
def test_an_assembly_closes_once_and_opens_again(
    page: Client, spar: Assembly, owner: User, now: Any, sentence: Said
) -> None:
    early = page.post(reverse("close-up", args=[spar.pk]))
    assert early.status_code == 409
    assert "only an assembly in work" in sentence(early)

    place_to_pull_for(assembly=spar, by=owner, now=now)
    assert page.post(reverse("close-up", args=[spar.pk])).status_code == 302
    assert Assembly.objects.get(pk=spar.pk).state == "closed"
    page.post(reverse("assembly-reopen", args=[spar.pk]))
    assert Assembly.objects.get(pk=spar.pk).state == "in_work"


@pytest.mark.slow
def test_the_first_page_names_the_one_item_in_the_way(
    page: Client, planned: list[Stage], rivets: Bin
) -> None:
    fin, rudder = page.get(reverse("home")).context["stages"]

    # The skin's rivets and the drills for the spar's holes; no bin holds either.
    assert fin.verdict == "short of 2"
    assert fin.way.words == "3/32 flush, 1/4 long"
    assert (fin.way.line.on_hand, fin.way.line.need) == (0, 24)
    assert rudder.way.words == "1/8 universal, 5/16 long"


@pytest.mark.slow
def test_a_late_stage_asks_for_a_new_date(page: Client, planned: list[Stage]) -> None:
    Stage.objects.filter(pk=planned[0].pk).update(planned_start=date(2020, 1, 1))

    response = page.get(reverse("home"))

    assert b"When does it start now?" in response.content
    assert reverse("stage-date", args=[planned[0].pk]).encode() in response.content


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
    assert len(bins()) == 1


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


@pytest.mark.slow
def test_an_alert_is_seen_and_put_off(page: Client, alert: Alert, owner: User) -> None:
    assert page.get(reverse("home")).context["unseen"] == 1

    page.post(reverse("alert-seen", args=[alert.pk]))
    assert page.get(reverse("home")).context["unseen"] == 0
    page.post(reverse("alert-snooze", args=[alert.pk]), {"days": "3"})

    alert.refresh_from_db()
    assert alert.seen_by == owner
    assert alert.snoozed_until is not None
    assert not page.get(reverse("alerts")).context["rows"]
    # Both by a slip, and mended.
    page.post(reverse("alert-snooze", args=[alert.pk]), {"not": "yes"})
    assert list(page.get(reverse("alerts")).context["rows"]) == [alert]
    page.post(reverse("alert-seen", args=[alert.pk]), {"not": "yes"})
    assert page.get(reverse("home")).context["unseen"] == 1


@pytest.mark.parametrize("days", ["0", "366", "", "soon"])
def test_an_alert_is_not_put_off_for_ever(
    page: Client, alert: Alert, days: str
) -> None:
    response = page.post(reverse("alert-snooze", args=[alert.pk]), {"days": days})

    alert.refresh_from_db()
    assert response.status_code == 400
    assert alert.snoozed_until is None


@pytest.mark.slow
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
        "currency": "",
        "cut_cost": "0.05",
        "opening_weight": "0.3",
        "removal_weight": "3",
    }

    page.post(reverse("settings"), good)
    odd = page.post(reverse("settings"), {**good, "stage_confidence": "2"})

    assert odd.status_code == 400
    assert sentence(odd).startswith("Stage confidence: ")
    assert (shop().name, float(shop().stage_confidence)) == ("Hangar 4", 0.9)


def test_a_device_shows_its_token_once_and_is_revoked(
    page: Client, sentence: Said
) -> None:
    shown = page.post(reverse("device-new"), {"name": "bench phone", "scope": "scan"})
    token = shown.context["token"]
    again = page.post(reverse("device-new"), {"name": "bench phone", "scope": "scan"})

    device = device_of(token)
    assert device is not None
    assert token.encode() not in page.get(reverse("settings")).content
    assert "called bench phone already" in sentence(again)
    page.post(reverse("device-revoke", args=[Device.objects.get().pk]))
    assert device_of(token) is None


def test_bins_are_listed_as_asked_page_after_page(
    page: Client, owner: User, rivets: Bin
) -> None:
    drill = item_for_callout(text="AN470AD4-5")
    open_bin(item=drill, by=owner, number=30)
    for flag, order, first in (
        ("", "", 12),
        ("", "fewest", 30),
        ("", "no order", 12),
        ("count", "fewest", None),
    ):
        text = page.get("/bins/", {"flag": flag, "order": order}).content.decode()
        numbers = re.findall(r'class="number">(\d+)<', text)
        assert (int(numbers[0]) if numbers else None) == first
    for number in range(100, 200):
        open_bin(item=drill, by=owner, number=number)
    asked = {"q": "470", "order": "what"}
    text = page.get("/bins/", asked).content.decode()
    (more,) = re.findall(r'href="(\?[^"]*from=\d+)"', text)
    assert "order=what" in more
    assert "q=470" in more
    second = page.get(f"/bins/{html.unescape(more)}").content.decode()
    assert re.findall(r'class="number">(\d+)<', second) == ["199"]
