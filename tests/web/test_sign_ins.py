"""Who is signed in, who tried to be; and how somebody is signed out elsewhere."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory.people.actions import SIGN_INS_KEPT, note_sign_in
from inventory.people.models import SignInEvent, User
from inventory.people.queries import open_sign_ins

PASSWORD = "a phrase long enough"
CAME, WRONG, OFTEN = SignInEvent.How

pytestmark = pytest.mark.django_db


@pytest.fixture
def wren():
    """The owner, who signs in by name."""
    return User.objects.create_superuser("wren", password=PASSWORD)


def attempt(password=PASSWORD, name="wren", agent="a phone"):
    client = Client(HTTP_USER_AGENT=agent)
    client.post(reverse("sign-in"), {"username": name, "password": password})
    return client


def now_in():
    return [row.device for row in open_sign_ins(timezone.now())]


@pytest.mark.slow
def test_each_who_comes_or_tries_is_listed(wren):
    home = attempt()
    attempt("wrong")
    attempt("wrong", name="nobody")
    kinds = SignInEvent.objects.order_by("pk").values_list("account", "how")
    assert list(kinds) == [("wren", CAME), ("wren", WRONG), ("", WRONG)]
    for _ in range(12):
        attempt("wrong", name="nobody")
    assert SignInEvent.objects.filter(how=OFTEN, account="").exists()
    shown = home.get(reverse("people")).content.decode()
    for words in ("Signed in now", "a phone", "wrong name or password", "no name of"):
        assert words in shown
    assert PASSWORD not in shown


@pytest.mark.slow
def test_a_lost_phone_is_signed_out_from_elsewhere_once(wren):
    home, lost = attempt(agent="at home"), attempt(agent="lost")
    assert now_in() == ["lost", "at home"]
    assert lost.get(reverse("home")).status_code == 200
    row = SignInEvent.objects.get(device="lost")
    for _twice in range(2):
        answer = home.post(reverse("sign-in-end", args=[row.pk]))
        assert answer.status_code == 302
    assert lost.get(reverse("home")).status_code == 302
    assert home.get(reverse("home")).status_code == 200
    assert now_in() == ["at home"]
    row.refresh_from_db()
    assert row.ended_by == wren
    attempt("wrong")
    tried = SignInEvent.objects.get(how=WRONG)
    for never in (9999, tried.pk):
        assert home.post(reverse("sign-in-end", args=[never])).status_code == 404


@pytest.mark.slow
def test_whoever_signs_out_is_no_longer_in(wren):
    home = attempt()
    home.post(reverse("sign-out"))
    assert now_in() == []
    assert SignInEvent.objects.get().ended_by == wren


@pytest.mark.slow
def test_nobody_else_signs_people_out(wren):
    row_of = attempt(agent="owner's") and SignInEvent.objects.get()
    User.objects.create_user("finch", password=PASSWORD)
    finch = attempt(name="finch", agent="finch's")
    answer = finch.post(reverse("sign-in-end", args=[row_of.pk]))
    assert answer.status_code == 403
    assert len(now_in()) == 2


@pytest.mark.parametrize(
    ("agent", "words"),
    [
        ("Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36", "X11; Linux x86_64"),
        ("a phone", "a phone"),
        ("Half (open", "Half (open"),
        ("", ""),
    ],
)
def test_a_device_is_told_by_what_its_browser_says_of_it(agent, words):
    assert SignInEvent(device=agent).device_words == words


def test_guesses_do_not_push_out_who_came(wren):
    now = timezone.now()
    note_sign_in(how=CAME, account="wren", at=now)
    for n in range(SIGN_INS_KEPT + 5):
        note_sign_in(how=WRONG, account="wren", at=now + timedelta(seconds=n))
    rows = SignInEvent.objects.order_by("at")
    assert rows.filter(how=CAME).count() == 1
    assert rows.filter(how=WRONG).count() == SIGN_INS_KEPT
    assert rows.filter(how=WRONG).first().at == now + timedelta(seconds=5)


NEW = "another phrase, long enough"


def own(**said):
    return {"password": NEW, "again": NEW, "current": PASSWORD, **said}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"current": "no"}, "Your password stays as it was"),
        ({"again": "other"}, "The two passwords differ"),
        ({"password": "short", "again": "short"}, "too short"),
        ({"current": ""}, "This field is required"),
    ],
)
def test_a_password_of_ones_own_is_not_changed_by_a_slip(wren, wrong, words):
    home = attempt()
    answer = home.post(reverse("own-password"), own(**wrong))
    assert answer.status_code == 400
    assert words in answer.content.decode()
    assert NEW not in answer.content.decode()
    wren.refresh_from_db()
    assert wren.check_password(PASSWORD)


@pytest.mark.slow
def test_another_password_signs_out_everywhere_but_here(wren):
    home, lost = attempt(agent="at home"), attempt(agent="lost")
    answer = home.post(reverse("own-password"), own(), follow=True)
    assert "signed out elsewhere" in answer.content.decode()
    assert now_in() == ["at home"]
    assert "this one" in answer.content.decode()
    assert lost.get(reverse("home")).status_code == 302
    assert home.get(reverse("me")).status_code == 200
    wren.refresh_from_db()
    assert wren.check_password(NEW)


@pytest.mark.slow
def test_tries_at_the_password_of_now_are_counted_as_any(wren):
    home = attempt()
    for _ in range(12):
        home.post(reverse("own-password"), own(current="wrong"))
    assert SignInEvent.objects.filter(how=WRONG, account="wren").count() == 10
    refused = home.post(reverse("own-password"), own())
    assert "Too many tries" in refused.content.decode()


@pytest.mark.slow
def test_somebody_ends_their_own_sign_ins_and_nobody_elses(wren):
    User.objects.create_user("ondine", password=PASSWORD)
    attempt(agent="wren's")
    hers, lost = attempt(name="ondine"), attempt(name="ondine", agent="lost")
    shown = hers.get(reverse("me")).content.decode()
    assert "lost" in shown
    assert "wren's" not in shown
    foreign = SignInEvent.objects.get(device="wren's")
    answer = hers.post(reverse("own-sign-in-end", args=[foreign.pk]))
    assert answer.status_code == 404
    mine = SignInEvent.objects.get(device="lost")
    hers.post(reverse("own-sign-in-end", args=[mine.pk]))
    assert lost.get(reverse("home")).status_code == 302
    assert sorted(now_in()) == ["a phone", "wren's"]
