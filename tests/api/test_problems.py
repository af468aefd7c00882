"""Whatever goes wrong below /api/ is told as a problem, whoever asks and however."""

import re

import pytest
from django.test import Client
from rest_framework.test import APIClient

from api.urls import urlpatterns
from api.views import stock

pytestmark = pytest.mark.django_db
PROBLEM = "application/problem+json"
ADDRESSES = sorted(
    "/api/v1/" + re.sub("<int:[a-z]+>", "12", str(row.pattern))
    for row in urlpatterns
    if "<path" not in str(row.pattern)
)
NOBODYS = ["/api/", "/api/v1/", "/api/nothing", "/api/v2/bins", "/api/v1/nothing"]


def problem(answer, *statuses):
    """A whole problem with one of these statuses."""
    assert answer.status_code in statuses, answer.content[:200]
    assert answer["Content-Type"] == PROBLEM
    said = answer.json()
    assert said["status"] == answer.status_code
    assert re.fullmatch(r"[a-z_]+\.[a-z_]+", said["code"])
    assert len(said["detail"]) > 10
    return said


@pytest.mark.parametrize("accept", ["application/json", "text/html", "*/*", "nonsense"])
@pytest.mark.parametrize("address", NOBODYS)
def test_an_address_with_nothing_behind_it(device, address, accept):
    for client in (device, APIClient()):
        for ask in (client.get, client.post, client.delete):
            problem(ask(address, headers={"accept": accept}), 404, 406)
    assert device.get(address).status_code == 404


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_wrong_method(device, address):
    for method in ("TRACE", "MOVE"):
        answer = device.generic(method, address, headers={"accept": "*/*"})
        problem(answer, 405)


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_stranger(db, address):
    said = problem(APIClient().get(address, headers={"accept": "*/*"}), 401, 405)
    assert said["code"] in ("api.not_authenticated", "api.method_not_allowed")


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_body_that_cannot_be_read(device, address):
    for ask in (device.post, device.put):
        torn = ask(address, b'{"torn', content_type="application/json")
        problem(torn, 400, 404, 405, 415)
        alien = ask(address, b"<a/>", content_type="application/xml")
        problem(alien, 400, 404, 405, 415)


def test_a_torn_body_and_an_alien_one_by_name(device):
    scans = "/api/v1/scans"
    torn = device.post(scans, b'{"torn', content_type="application/json")
    assert problem(torn, 400)["code"] == "api.parse_error"
    alien = device.post(scans, b"<a/>", content_type="application/xml")
    assert problem(alien, 415)["code"] == "api.unsupported_media_type"


def test_a_form_of_another_site(owner):
    strict = APIClient(enforce_csrf_checks=True)
    strict.force_login(owner)
    problem(strict.post("/api/v1/scans", {}, format="json"), 403)


def test_a_host_that_is_none_of_ours(device):
    for address in ("/api/v1/bins", "/api/nothing"):
        said = problem(device.get(address, headers={"host": "elsewhere.example"}), 400)
        assert "own address" in said["detail"]


def test_more_fields_than_anybody_sends(device, settings):
    settings.DATA_UPLOAD_MAX_NUMBER_FIELDS = 2
    fields = dict.fromkeys("abcd", "1")
    problem(device.post("/api/v1/photos", fields, format="multipart"), 400)


@pytest.mark.parametrize("accept", ["application/json", "text/html", "*/*"])
def test_a_fault_carries_the_number_of_its_trace(owner, monkeypatch, caplog, accept):
    def breaks(*_args):
        raise RuntimeError("the saw stands still")

    monkeypatch.setattr(stock, "bins_after", breaks)
    client = Client(raise_request_exception=False)
    client.force_login(owner)

    answer = client.get("/api/v1/bins", headers={"accept": accept})

    if accept == "text/html":
        problem(answer, 406)
        return
    said = problem(answer, 500)
    number = said["data"]["fault"]
    assert number == answer["Fault"]
    assert number in said["detail"]
    (row,) = (row for row in caplog.records if row.name == "inventory.config.faults")
    assert f"Fault {number}: GET '/api/v1/bins', asked by 'marlow'" in row.getMessage()
    assert row.exc_info[0] is RuntimeError


def test_a_devices_fault_names_its_person(owner, device, monkeypatch, caplog):
    def breaks(*_args):
        raise RuntimeError("the saw stands still")

    monkeypatch.setattr(stock, "bins_after", breaks)
    device.raise_request_exception = False
    problem(device.get("/api/v1/bins"), 500)
    assert "asked by 'marlow'" in caplog.text


@pytest.mark.parametrize("sent", ["[" * 100_000, '{"a":' * 100_000, "\x00" * 40])
def test_a_body_nested_beyond_sense_is_refused_in_words(device, sent):
    answer = device.post("/api/v1/scans", sent, content_type="application/json")
    assert problem(answer, 400)["code"] == "api.parse_error"


@pytest.mark.parametrize("address", ["/api/v1/bins", "/api/v1/items", "/bins/"])
@pytest.mark.parametrize("query", ["q=" + "x" * 60_000, "q=%00", "a%00b=1"])
def test_a_query_that_no_address_has_is_refused_in_words(device, address, query):
    answer = device.get(f"{address}?{query}")
    assert answer.status_code in (400, 414)
    assert len(answer.content) > 20
    if address.startswith("/api/"):
        problem(answer, 400, 414)
