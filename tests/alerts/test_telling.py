"""One alert per subject and cause, updated, cleared by itself, and mailed once."""

from datetime import timedelta

import pytest
from django.core import mail

from inventory import days
from inventory.alerts import actions, tasks
from inventory.alerts.models import Alert
from inventory.ledger.actions import verbs
from inventory.planning.actions import importing

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan(owner, now, rivets):
    """A stage in twelve days that asks for 60 of the 40 there are."""
    start = (now + timedelta(days=12)).date()
    text = f"stage,start,assembly,callout,each\nFin,{start},Skin,AN426AD3-3.5,60\n"
    found = importing.preview(name="plan.csv", data=text.encode())
    importing.apply(found=found, by=owner, now=now)


@pytest.mark.slow
def test_a_shortage_is_raised_once_updated_and_cleared(plan, rivets, ask, now):
    actions.settle(now=now)
    actions.recompute(now=now)
    (alert,) = Alert.objects.filter(cause="short")
    assert alert.episode == 1
    before = alert.data["to_order"]
    verbs.count(bin=rivets, counted=50, ask=ask())
    assert actions.settle(now=now) == 1
    alert.refresh_from_db()
    assert alert.data["to_order"] == before - 10
    verbs.count(bin=rivets, counted=200, ask=ask())
    actions.settle(now=now)
    alert.refresh_from_db()
    assert alert.cleared_at == now
    verbs.count(bin=rivets, counted=1, ask=ask())
    actions.settle(now=now)
    assert list(
        Alert.objects.filter(cause="short").values_list("episode", flat=True)
    ) == [1, 2]


def test_the_letter_says_what_when_how_many_and_by_when(plan, now):
    actions.settle(now=now)
    assert actions.deliver(now=now) == 1
    assert actions.deliver(now=now) == 0
    (letter,) = mail.outbox
    start, order_by = now + timedelta(days=12), now + timedelta(days=7)
    for words in (
        "3/32 flush",
        "MS20426AD3-3.5",
        f"starts {days.said(start.date())}",
        "60 needed",
        "40 on hand",
        f"by {days.said(order_by.date())}",
        "guess",
    ):
        assert words in letter.body
    assert letter.to == ["marlow@example.org"]


def test_a_long_title_is_cut(owner, now):
    start = (now + timedelta(days=12)).date()
    text = f"stage,start,assembly,callout,each\n{'S' * 80},{start},A,{'Z' * 120},6\n"
    found = importing.preview(name="plan.csv", data=text.encode())
    importing.apply(found=found, by=owner, now=now)
    actions.settle(now=now)
    assert len(Alert.objects.get().title) == 200


def test_a_letter_that_fails_is_sent_later(plan, now, monkeypatch):
    actions.settle(now=now)

    def fail(self):
        raise OSError("the line is cut")

    with monkeypatch.context() as cut:
        cut.setattr("django.core.mail.EmailMessage.send", fail)
        with pytest.raises(OSError, match="cut"):
            actions.deliver(now=now)
    assert Alert.objects.filter(sent_at=None, cause="short").exists()
    assert actions.deliver(now=now) == 1


def test_the_worker_settles_what_moved_and_tells_it(plan):
    assert tasks.settle() == 1
    assert "3/32 flush" in mail.outbox[0].body


def test_every_hour_all_is_looked_at_and_told(plan):
    tasks.recompute()
    assert Alert.objects.count() == 1
    assert "3/32 flush" in mail.outbox[0].body


def test_snoozed_alerts_wait(plan, owner, now):
    actions.settle(now=now)
    (alert,) = Alert.objects.all()
    actions.snooze(alert=alert, until=now + timedelta(days=2), by=owner, now=now)
    assert actions.deliver(now=now) == 0
    assert actions.deliver(now=now + timedelta(days=3)) == 1


@pytest.mark.slow
def test_a_bin_under_its_keep_level_and_one_in_doubt(rivets, owner, ask, now):
    from inventory.ledger.actions.bins import change_bin  # noqa: PLC0415

    change_bin(bin=rivets, by=owner, keep_level=100)
    place = verbs.single_place("unplanned")
    verbs.pull(bin=rivets, quantity=41, to=place, ask=ask())
    actions.settle(now=now)
    assert set(Alert.objects.values_list("cause", flat=True)) == {"keep_level", "count"}
    verbs.count(bin=rivets, counted=100, ask=ask())
    actions.settle(now=now)
    assert not Alert.objects.filter(cleared_at=None).exists()


@pytest.mark.slow
def test_after_a_long_gap_one_letter_sums_up(plan, now):
    assert actions.come_back(now=now) == 0
    actions.recompute(now=now)
    actions.deliver(now=now)
    later = now + timedelta(days=6)
    assert actions.come_back(now=later) == 0
    assert actions.deliver(now=later) == 0
    back = later + timedelta(days=23)
    assert actions.come_back(now=back) == 23
    assert actions.come_back(now=back) == 0
    assert actions.sum_up(now=back)
    assert not actions.sum_up(now=back)
    first, summary = mail.outbox
    assert first.extra_headers["Message-ID"] != summary.extra_headers["Message-ID"]
    assert "3/32 flush" in summary.body
