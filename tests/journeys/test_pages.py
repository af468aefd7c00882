"""Import, order, receive, re-date and alert through the pages."""

import re
import uuid
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from inventory.alerts import actions
from inventory.alerts.models import Alert
from inventory.ledger import queries
from inventory.ordering.actions.placing import AskLine, place_order, supplier_called
from inventory.ordering.queries import still_owed
from inventory.planning.models import Need, Stage
from inventory.planning.rules.example import plan_example

pytestmark = [pytest.mark.django_db, pytest.mark.journey]


@pytest.fixture
def desk(client, owner, settings, tmp_path):
    """The owner's browser, with a data folder of the test's own."""
    settings.DATA = tmp_path
    client.force_login(owner)
    return client


def hidden(answer):
    """The hidden fields of a page's apply form."""
    text = answer.content.decode()
    return {
        re.search(r'name="([^"]+)"', tag)[1]: re.search(r'value="([^"]*)"', tag)[1]
        for tag in re.findall(r'<input type="hidden"[^>]*>', text)
        if "value=" in tag and "csrf" not in tag
    }


def look(desk, text):
    file = SimpleUploadedFile("plan.csv", text.encode())
    return desk.post("/plan/import/", {"file": file})


@pytest.mark.slow
def test_a_plan_is_looked_at_then_applied(desk):
    seen = look(desk, plan_example())
    assert seen.status_code == 200
    assert Stage.objects.count() == 0
    applied = desk.post("/plan/import/apply/", hidden(seen), follow=True)
    assert applied.status_code == 200
    assert Stage.objects.count() == 2
    assert b"holds already" in look(desk, plan_example()).content
    changed = look(desk, plan_example().replace("AD4-5,96", "AD4-5,90"))
    assert b"96 each becomes 90 each" in changed.content
    assert Need.objects.get(callout="MS20470AD4-5").each == 96


def test_bad_rows_show_their_lines_and_nothing_is_imported(desk):
    seen = look(desk, plan_example() + "Fin,soon,Spar,1,MS20470AD4-5,9\n")
    assert b"2027-03-31" in seen.content
    answer = desk.post("/plan/import/apply/", hidden(seen))
    assert answer.status_code == 400
    assert Stage.objects.count() == 0
    stray = look(desk, 'stage,assembly,callout,each\nFin,"Spar,X,3\n')
    assert stray.status_code == 400
    assert b"quotation mark" in stray.content


@pytest.mark.slow
def test_a_part_delivery_is_received_once_and_the_rest_stays(desk, owner, rivets, now):
    place_order(
        supplier=supplier_called(name="Hangar supply"),
        asks=[AskLine(rivets.item, 1, 100)],
        placed_on=now.date(),
        by=owner,
    )
    (owed,) = still_owed()
    address = f"/order-lines/{owed.line.pk}/receive/"
    body = {"scan_id": str(uuid.uuid4()), "bin": 12, "pieces": 60, "lot": "R-5"}
    for _twice in range(2):
        desk.post(address, body)
    assert queries.quantity_in(rivets) == 100
    assert [row.pieces for row in still_owed()] == [40]
    for bad in ("0", "-3", "six", "1000000000", ""):
        answer = desk.post(
            address, body | {"scan_id": str(uuid.uuid4()), "pieces": bad}
        )
        assert answer.status_code == 400
    assert queries.quantity_in(rivets) == 100


@pytest.mark.slow
def test_a_stage_is_redated_skipped_and_moved(desk):
    desk.post("/plan/import/apply/", hidden(look(desk, plan_example())))
    fin, rudder = Stage.objects.all()
    day = fin.planned_start + timedelta(days=30)
    desk.post(
        f"/stages/{fin.pk}/date/", {"start": day.isoformat(), "shift_later": "on"}
    )
    desk.post(f"/stages/{rudder.pk}/skip/", {"skipped": "True"})
    desk.post(f"/stages/{rudder.pk}/move/", {"places": "-1"})
    fin.refresh_from_db()
    rudder.refresh_from_db()
    assert fin.planned_start == day
    assert rudder.skipped
    assert rudder.position < fin.position


@pytest.mark.slow
def test_an_alert_is_read_and_put_off(desk, owner, rivets, now):
    rivets.keep_level = 100
    rivets.save()
    actions.recompute(now=now)
    (alert,) = Alert.objects.all()
    assert alert.title.encode() in desk.get("/alerts/").content
    desk.post(f"/alerts/{alert.pk}/seen/")
    desk.post(f"/alerts/{alert.pk}/snooze/", {"days": "3"})
    alert.refresh_from_db()
    assert alert.seen_by == owner
    assert alert.snoozed_until is not None
