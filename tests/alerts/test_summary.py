"""The letter that sums up: on the morning of a build day, and after an absence."""

from datetime import datetime, timedelta

import pytest
from django.core import mail
from django.utils import timezone

from inventory.alerts import actions
from inventory.alerts.rules import is_build_morning
from inventory.days import said
from inventory.ledger.actions import verbs
from inventory.ledger.models import KeptSum
from inventory.ledger.rules import Figure
from inventory.people.actions import settle_shop, want_summary
from inventory.people.queries import shop
from inventory.planning.actions.importing import apply, preview
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly

pytestmark = pytest.mark.django_db
PLAN = b"""stage,start,assembly,callout,each
Fin,2027-03-20,Skin,MS20426AD3-3.5,9
Rudder,2027-04-20,Rib,AN470AD4-5,60
"""


@pytest.fixture
def working(owner, now, rivets, ask):
    """Fin has all it wants and is in work; nothing is there for the rudder."""
    apply(found=preview(name="plan.csv", data=PLAN), by=owner, now=now)
    skin = Assembly.objects.get(name="Skin")
    place = place_to_pull_for(assembly=skin, by=owner, now=now)
    verbs.pull(bin=rivets, quantity=4, to=place, ask=ask())
    actions.settle(now=now)
    return skin


def at(hour, now, days=0):
    """An hour of the shop's clock on the evening's day, or days after it."""
    day = timezone.localtime(now).replace(hour=hour, minute=5)
    return day + timedelta(days=days)


@pytest.mark.parametrize(
    ("day", "hour", "days", "is_one"),
    [
        (5, 6, "67", False),
        (6, 5, "67", False),
        (6, 6, "67", True),
        (7, 22, "67", True),
        (6, 9, "", False),
    ],
)
def test_a_build_morning_is_from_six_on(day, hour, days, is_one):
    # 2027-03-01 is a Monday (ISO 8601 counts it as day 1).
    assert is_build_morning(datetime(2027, 3, day, hour), days) is is_one  # noqa: DTZ001


def test_one_letter_on_a_build_day_says_where_the_build_stands(working, owner, now):
    today = str(timezone.localtime(now).isoweekday())
    settle_shop(changes={"build_days": today}, by=owner)
    assert not actions.sum_up(now=at(5, now))
    assert actions.sum_up(now=at(7, now))
    assert not actions.sum_up(now=at(9, now))
    assert not actions.sum_up(now=at(9, now, days=1))
    (letter,) = mail.outbox
    body = letter.body
    assert "May start:\n* Fin\n" in body
    assert "* Rudder: " in body
    assert "order " in body.split("To order, the earliest first:")[1]
    assert "pulled 4 3/32 flush, 7/32 long from bin 12 to " in body
    assert f", {said(timezone.localdate(now))}\n" in body
    assert "Fin / Skin is in work, 5 pieces still asked" in body
    assert actions.sum_up(now=at(7, now, days=7))


def test_a_count_is_told_as_what_was_found(working, owner, now, rivets, ask):
    verbs.count(bin=rivets, counted=1234, ask=ask())
    want_summary()
    assert actions.sum_up(now=now)
    assert "counted 1,234 3/32 flush, 7/32 long in bin 12, " in mail.outbox[-1].body


def test_a_look_at_everything_adds_up_what_moved(working, now):
    KeptSum.objects.all().delete()
    actions.settle_all(now=now)
    assert KeptSum.objects.filter(figure=Figure.UPTO).exists()


def test_no_letter_where_nobody_reads_it_and_again_where_it_failed(
    working, owner, now, settings
):
    want_summary()
    settings.EMAIL_BACKEND = "tests.alerts.test_summary.Broken"
    with pytest.raises(OSError, match="no line"):
        actions.sum_up(now=now)
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    assert actions.sum_up(now=now)
    want_summary()
    owner.email = ""
    owner.save()
    assert not actions.sum_up(now=now)
    assert shop().sum_is_due


class Broken:
    """A mail server that does not answer."""

    def __init__(self, **_options):
        pass

    def open(self):
        raise OSError("no line")

    __enter__ = send_messages = lambda self, *_rows: self.open()

    def __exit__(self, *_error):
        pass


def test_the_days_are_kept_on_the_settings_page(client, owner):
    client.force_login(owner)
    form = client.get("/settings/").context["form"]
    sent = {name: form[name].value() or "" for name in form.fields}
    kept = client.post("/settings/", {**sent, "build_days": ["7", "6"]})
    assert kept.status_code == 302
    assert shop().build_days == "67"
    shown = client.get("/settings/").content.decode()
    assert shown.count("checked") == 2
    assert client.post("/settings/", {**sent, "build_days": ["9"]}).status_code == 400
