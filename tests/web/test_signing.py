"""Guessing passwords: ten an account and hour are looked at, and nobody is kept out."""

from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta

import pytest
from django.contrib.auth.backends import ModelBackend
from django.db import connections
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory.people.actions import ACCOUNT_SPAN, ACCOUNT_TRIES, spend_sign_in
from inventory.people.models import SignInTries, User

PASSWORD = "a phrase long enough"


@pytest.fixture
def wren(db: None) -> User:
    """Somebody who may sign in."""
    return User.objects.create_superuser("wren", password=PASSWORD)


@pytest.fixture
def hashed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names whose passwords were looked at."""
    names: list[str] = []
    real = ModelBackend.authenticate

    def heard(self, request, username=None, **more):
        names.append(username)
        return real(self, request, username=username, **more)

    monkeypatch.setattr(ModelBackend, "authenticate", heard)
    return names


def attempt(client, name, password, address="10.0.0.9"):
    data = {"username": name, "password": password}
    return client.post(reverse("sign-in"), data, REMOTE_ADDR=address)


def test_of_many_guesses_ten_are_looked_at_of_any_name(client, wren, hashed):
    for name in ("wren", "nobody"):
        said = [
            attempt(client, name, f"guess {n}", f"10.0.1.{n}").content.decode()
            for n in range(25)
        ]
        assert hashed.count(name) == ACCOUNT_TRIES
        assert ["do not fit" in text for text in said] == [True] * 10 + [False] * 15
        assert "Too many tries: wait until" in said[-1]
    # Another spelling of the same name is no other account to guess at.
    attempt(client, "WREN", "guess")
    assert "WREN" not in hashed


def test_a_known_device_signs_in_whoever_guesses(client, wren, hashed):
    assert attempt(client, "wren", PASSWORD).status_code == 302
    stranger = Client()
    for n in range(20):
        attempt(stranger, "wren", "guess", f"10.0.2.{n}")
    assert attempt(stranger, "wren", PASSWORD).status_code == 200
    client.post(reverse("sign-out"))
    assert attempt(client, "wren", PASSWORD).status_code == 302
    # A cookie of somebody else's, or a made one, knows nobody.
    stranger.cookies["known"] = "made up"
    assert attempt(stranger, "wren", PASSWORD).status_code == 200


def test_an_address_is_slowed_whatever_it_names(client, wren, hashed):
    for n in range(40):
        attempt(client, f"name {n}", "guess", "10.0.3.1")
    assert len(hashed) == 30
    assert attempt(Client(), "wren", PASSWORD, "10.0.3.2").status_code == 302


def test_after_an_hour_tries_are_free_again_and_forgotten(wren):
    now = timezone.now()

    def spent(at):
        return spend_sign_in(account="wren", device="", address=str(at), now=at)

    for n in range(ACCOUNT_TRIES):
        assert spent(now + timedelta(minutes=n)) is None
    assert spent(now + timedelta(minutes=30)) == now + ACCOUNT_SPAN
    assert spent(now + ACCOUNT_SPAN + timedelta(seconds=1)) is None
    assert spent(now + ACCOUNT_SPAN + timedelta(seconds=2)) is not None
    spent(now + timedelta(days=3))
    assert SignInTries.objects.count() == 2


def test_who_signs_in_begins_anew(client, wren, hashed):
    for _round in range(3):
        for _try in range(9):
            attempt(client, "wren", "guess", str(timezone.now()))
        assert attempt(client, "wren", PASSWORD, str(timezone.now())).status_code == 302
        client.post(reverse("sign-out"))


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_many_at_once_are_counted_one_by_one():
    now = timezone.now()

    def spend(n: int) -> datetime | None:
        try:
            return spend_sign_in(account="wren", device="", address=str(n), now=now)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(16) as pool:
        found = list(pool.map(spend, range(64)))
    assert found.count(None) == ACCOUNT_TRIES
