"""Each request has an id, is counted, and leaves a line that programs read.

The metrics are read by another reader of the format: the parser of the library
prometheus-client (OpenMetrics 1.0.0).
"""

import json
import subprocess
import sys

import pytest
from django.conf import settings as shop_settings
from django.test import Client
from prometheus_client.openmetrics.parser import text_string_to_metric_families
from rest_framework.test import APIClient

from inventory.alerts.queries.running import RunningState
from inventory.config.watching import HEADER
from inventory.people.models import User


def metrics(client):
    answer = client.get("/api/v1/metrics")
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("application/openmetrics-text")
    found = text_string_to_metric_families(answer.content.decode())
    return {
        (sample.name, *sorted(sample.labels.values())): sample.value
        for family in found
        for sample in family.samples
    }


@pytest.fixture
def asker(owner):
    client = APIClient()
    client.force_authenticate(owner)
    return client


@pytest.mark.django_db
def test_what_is_answered_is_counted_by_its_address(asker, page_of_owner, rivets):
    before = metrics(asker)
    for number in (12, 12, 99):
        page_of_owner.get(f"/bins/{number}/")
    page_of_owner.get("/no-such-page-1/")
    page_of_owner.get("/no-such-page-2/")
    page_of_owner.generic("PROPFIND", "/bins/12/")
    after = metrics(asker)

    def more(*key):
        return after.get(key, 0) - before.get(key, 0)

    total = "gripcount_requests_total"
    assert more(total, "200", "GET", "bins/<small:number>/") == 2
    assert more(total, "404", "GET", "bins/<small:number>/") == 1
    assert more(total, "404", "GET", "none") == 2
    assert more(total, "405", "bins/<small:number>/", "other") == 1
    assert more("gripcount_request_seconds_count", "bins/<small:number>/") == 4
    assert not any("no-such-page" in word for key in after for word in key)


@pytest.fixture
def page_of_owner(owner):
    client = Client()
    client.force_login(owner)
    return client


@pytest.mark.django_db
def test_every_part_is_in_one_state_and_the_record_goes_on(asker, rivets):
    found = metrics(asker)
    parts = [key for key in found if key[0] == "gripcount_part"]
    assert len(parts) >= 8 * len(RunningState)
    names = {word for key in parts for word in key[1:]} - set(RunningState)
    for name in names:
        states = [found[key] for key in parts if name in key]
        assert (sum(states), len(states)) == (1, len(RunningState)), name
    assert found["gripcount_newest_act",] > 0
    assert found["process_resident_memory_bytes",] > 1e6


@pytest.mark.django_db
def test_metrics_are_the_owners_to_ask(asker):
    asker.force_authenticate(User.objects.create_user("ada"))
    assert asker.get("/api/v1/metrics").status_code == 403


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("given", "is_taken"),
    [
        ("proxy-id_0.1", True),
        ("short", False),
        ("x" * 65, False),
        ("a b\r\nc: d", False),
    ],
)
def test_an_id_that_a_proxy_gave_is_kept_where_it_is_one(client, given, is_taken):
    first = client.get("/health/", headers={HEADER: given})[HEADER]
    assert (first == given) == is_taken
    assert client.get("/health/")[HEADER] not in (given, first)


LINES = """
import django
django.setup()
import logging
from django.test import Client
log = logging.getLogger("inventory.config.faults")
log.warning("outside")
Client(headers={"host": "localhost"}).get("/no/", headers={"X-Request-ID": "from-proxy"})
log.warning("outside %s", "again", extra={"item": 7})
"""


@pytest.mark.parametrize("form", ["json", ""])
def test_lines_are_for_programs_or_for_people(form, tmp_path):
    done = subprocess.run(
        [sys.executable, "-c", LINES],
        cwd=shop_settings.ROOT,
        env={
            "PATH": "/usr/bin",
            "DJANGO_SETTINGS_MODULE": "inventory.config.settings",
            "GRIPCOUNT_DATA": str(tmp_path),
            "GRIPCOUNT_LOG": form,
        },
        capture_output=True,
        text=True,
        check=True,
    )
    rows = [row for row in done.stderr.splitlines() if "Not Found" not in row]
    if not form:
        assert [row.rpartition(" WARNING ")[2] for row in rows] == [
            "outside",
            "outside again",
        ]
        return
    first, asked, last = map(json.loads, rows)
    assert (first["message"], first["request"]) == ("outside", "")
    assert (asked["from"], asked["request"]) == ("inventory.asked", "from-proxy")
    assert (asked["route"], asked["status"], asked["method"]) == ("none", 404, "GET")
    assert (last["message"], last["item"], last["level"]) == (
        "outside again",
        7,
        "WARNING",
    )
