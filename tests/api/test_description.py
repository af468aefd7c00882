"""The API keeps to its own description, whatever is asked of it."""

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rest_framework.test import APIClient
from schemathesis.specs.openapi.checks import ignored_auth, positive_data_acceptance

from inventory.ledger import queries
from inventory.people.actions import register_device

pytestmark = [pytest.mark.slow, pytest.mark.django_db, pytest.mark.unmeasured]


@pytest.fixture
def schema(owner, now):
    """The description, as a device with a token reads it.

    A request closes old connections, the test's own among them: not here.
    """
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    _device, token = register_device(name="bench 1", by=owner, now=now)
    yield (
        schemathesis.openapi.from_wsgi(
            "/api/v1/schema?format=json",
            get_wsgi_application(),
            headers={"Authorization": f"Bearer {token}", "Accept": "application/json"},
        ),
        token,
    )
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


# What is seldom right by chance: `test_writes` sends it as a person means it.
HARD = {
    ("POST", f"/api/v1/{name}")
    for name in ("labels", "offers", "orders", "people", "photos", "receipts")
}


def on_the_shop(full, case):
    """The same question about what is there, or can be: numbers of a full shop."""
    case.path_parameters = {
        name: full.number(case.operation.path) for name in case.path_parameters or {}
    }
    there = {"bin": 12, "assembly": full.assembly, "line": full.line}
    if isinstance(case.body, dict):
        case.body = {name: there.get(name, said) for name, said in case.body.items()}


def test_every_answer_is_as_described(schema, full):
    """Each operation, half of the time about what is there, half about anything."""
    described, token = schema
    asked, taken, every = 0, set(), set()
    for found in described.get_all_operations():
        operation = found.ok()
        every.add((operation.method.upper(), operation.path))

        @settings(
            max_examples=15,
            database=None,
            derandomize=True,
            suppress_health_check=list(HealthCheck),
        )
        @given(case=operation.as_strategy(), there=st.booleans())
        def ask(case, there):
            called = (case.method, case.operation.path)
            if there:
                on_the_shop(full, case)
            if there and called == ("POST", "/api/v1/bins") and called not in taken:
                # What a kind asks for beside itself no chance brings together.
                case.body = {"callout": "MS20470AD4-4"}
            # The description knows shapes; a rule may still refuse a well-formed wish.
            excluded = [positive_data_acceptance]
            # That a stranger is kept out is the operation's: one proof of it is enough.
            if called in taken:
                excluded.append(ignored_auth)
            answer = case.call_and_validate(
                headers={
                    "Authorization": f"Bearer {token}",
                    "Accept-Encoding": "identity",
                },
                excluded_checks=excluded,
            )
            assert answer.status_code not in (401, 403, 406)
            if answer.status_code < 300:
                taken.add(called)

        ask()
        asked += 1
    assert queries.flaws() == []
    assert asked >= 25
    assert every - taken <= HARD, sorted(every - taken)


def test_the_description_has_no_warnings(owner, capsys):
    client = APIClient()
    client.force_authenticate(owner)
    answer = client.get("/api/v1/schema?format=json")
    assert answer.status_code == 200
    assert "Warning" not in capsys.readouterr().err
    assert len(answer.json()["paths"]) >= 20


def test_a_stranger_does_not_see_the_description(db):
    assert Client().get("/api/v1/schema").status_code == 401
