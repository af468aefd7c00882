"""Every address, method and role, by the one table; what is not named stays shut."""

import pytest
from django.test import Client
from rest_framework.test import APIClient

from api import doors as calls
from api.urls import urlpatterns as api_patterns
from inventory.people.actions import register_device
from inventory.people.models import User
from inventory.people.rules import Role, Scope
from inventory.web.doors import CHANGES, HIDDEN, OPEN, least_role
from tests.web.test_doors import NAMES, address

ROLES = [Role.READER, Role.HELPER, Role.BUILDER]


@pytest.fixture
def client_of(owner, db):
    """A browser of somebody with a role."""

    def made(role):
        if role is Role.OWNER:
            user = owner
        else:
            user = User.objects.create_user(role.value, kept_role=role.value)
        client = Client(raise_request_exception=False)
        client.force_login(user)
        return client

    return made


def test_every_address_has_its_row():
    assert set(NAMES) - OPEN == CHANGES.keys()
    assert least_role("no such page", "GET") is Role.OWNER
    views = {row.callback.cls.__name__ for row in api_patterns}
    assert views == calls.CHANGES.keys()


@pytest.mark.unmeasured
@pytest.mark.slow
@pytest.mark.parametrize("role", ROLES)
def test_each_role_opens_what_its_row_says_and_no_more(client_of, role):
    client = client_of(role)
    for name in sorted(CHANGES):
        if name == "sign-out":
            continue
        for method in ("get", "post"):
            answer = getattr(client, method)(address(name))
            if answer.streaming:
                list(answer)  # to its end: a file is open until then
            least = (
                Role.READER if method == "get" and name not in HIDDEN else CHANGES[name]
            )
            is_shut = not role.may(least)
            assert (answer.status_code == 403) == is_shut, (name, method)
            if is_shut:
                assert f"you are {role}" in answer.content.decode()


def test_the_owner_lets_somebody_in_changes_and_ends_it(client_of):
    page = client_of(Role.OWNER)
    data = {"name": "wren", "role": "helper", "password": "a phrase long enough"}
    assert (
        page.post("/settings/people/new/", {**data, "password": "short"}).status_code
        == 400
    )
    page.post("/settings/people/new/", data)
    wren = User.objects.get(username="wren")
    assert (wren.role, wren.check_password(data["password"])) == (Role.HELPER, True)
    assert page.post("/settings/people/new/", data).status_code == 400
    mine = Client()
    mine.force_login(wren)
    assert mine.get("/plan/").status_code == 200
    assert mine.post("/plan/stages/new/", {"name": "Fin"}).status_code in (403, 404)
    page.post(f"/settings/people/{wren.pk}/role/", {"role": "builder"})
    wren.refresh_from_db()
    assert wren.role is Role.BUILDER
    assert (
        page.post(f"/settings/people/{wren.pk}/role/", {"role": "owner"}).status_code
        == 400
    )
    # Another password, or leaving, ends every session.
    page.post(
        f"/settings/people/{wren.pk}/password/", {"password": "another long phrase"}
    )
    assert mine.get("/plan/").status_code == 302
    mine.force_login(User.objects.get(pk=wren.pk))
    page.post(f"/settings/people/{wren.pk}/leave/")
    assert mine.get("/plan/").status_code == 302
    page.post(f"/settings/people/{wren.pk}/leave/", {"back": "yes"})
    assert User.objects.get(pk=wren.pk).is_active
    owner = User.objects.get(is_superuser=True)
    assert page.post(f"/settings/people/{owner.pk}/leave/").status_code == 400
    assert "wren" in page.get("/settings/people/").content.decode()


def every_call(client):
    """Each view, method and the status that it answers with."""
    for row in api_patterns:
        there = str(row.pattern).replace("<int:pk>", "1").replace("<int:number>", "12")
        there = there.replace("<path:rest>", "nothing")
        for method in ("get", "post", "delete", "patch"):
            send = getattr(client, method)
            answer = send(f"/api/v1/{there}", {}, format="json")
            yield row.callback.cls.__name__, method, answer.status_code


@pytest.mark.slow
@pytest.mark.parametrize("scope", list(Scope))
def test_a_token_opens_what_its_scope_says_and_no_more(owner, now, scope):
    _device, token = register_device(name="bench", by=owner, now=now, scope=scope)
    client = APIClient(raise_request_exception=False)
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    for name, method, status in every_call(client):
        opens = {
            Scope.ALL: True,
            Scope.READ: method == "get",
            Scope.SCAN: name in calls.BENCH,
        }[scope]
        assert opens or status == 403 or name == "NothingView", (name, method)
        assert not opens or status != 403, (name, method)


@pytest.mark.slow
@pytest.mark.parametrize("role", ROLES)
def test_a_call_asks_for_the_role_of_its_row(owner, role):
    user = User.objects.create_user(role.value, kept_role=role.value)
    client = APIClient(raise_request_exception=False)
    client.force_authenticate(user)
    for name, method, status in every_call(client):
        looks = method == "get" and name not in calls.HIDDEN
        may = role.may(Role.READER if looks else calls.CHANGES[name])
        assert may or status == 403, (name, method)
        assert not may or status != 403, (name, method)
