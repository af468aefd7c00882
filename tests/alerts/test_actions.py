"""One alert and its neighbours: what clears, what waits, and for how long."""

from datetime import timedelta

import pytest
from django.core import mail

from inventory.alerts import actions
from inventory.alerts.models import Alert
from inventory.alerts.queries import open_alerts, shown_alerts
from inventory.alerts.rules import CAUSES, MAILED
from inventory.catalog.actions import item_for_callout
from inventory.errors import Refused
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import change_bin, open_bin
from inventory.planning.actions import importing

pytestmark = pytest.mark.django_db


@pytest.fixture
def two_short(owner, now, ask, rivets):
    """Two rivets that one stage is short of, and a bin under its keep level."""
    other = open_bin(item=item_for_callout(text="MS20470AD4-5"), by=owner)
    verbs.count(bin=other, counted=10, ask=ask())
    change_bin(bin=other, by=owner, keep_level=20)
    start = (now + timedelta(days=12)).date()
    text = (
        "stage,start,assembly,callout,each\n"
        f"Fin,{start},Skin,AN426AD3-3.5,60\nFin,{start},Spar,MS20470AD4-5,50\n"
    )
    found = importing.preview(name="plan.csv", data=text.encode())
    importing.apply(found=found, by=owner, now=now)
    actions.settle(now=now)
    return rivets, other


def of(bin, cause="short"):
    return Alert.objects.get(subject=f"item {bin.item_id}", cause=cause)


@pytest.mark.slow
def test_what_clears_one_leaves_the_others(two_short, ask, now):
    first, second = two_short
    before = set(open_alerts().values_list("cause", flat=True))
    assert before == {"short", "keep_level"}
    verbs.count(bin=first, counted=500, ask=ask())
    later = now + timedelta(minutes=1)
    actions.settle(now=later)
    assert (of(first).cleared_at, of(second).cleared_at) == (later, None)
    assert open_alerts().count() == 2
    verbs.count(bin=second, counted=500, ask=ask())
    actions.settle(now=later + timedelta(minutes=1))
    assert not open_alerts().exists()
    assert of(first).cleared_at == later


@pytest.mark.slow
def test_what_did_not_change_is_not_touched(two_short, ask, now):
    row = of(two_short[0])
    later = now + timedelta(hours=1)
    assert actions.recompute(now=later) == open_alerts().count() == 3
    assert of(two_short[0]).updated_at == row.updated_at
    bin = two_short[0]
    verbs.scrap(bin=bin, quantity=3, from_=bin.place, ask=ask())
    actions.settle(now=later)
    assert of(two_short[0]).updated_at == later


@pytest.mark.slow
@pytest.mark.parametrize(
    ("ahead", "taken"),
    [
        (timedelta(seconds=1), True),
        (timedelta(days=365), True),
        (timedelta(0), False),
        (timedelta(seconds=-1), False),
        (timedelta(days=365, seconds=1), False),
    ],
)
def test_an_alert_is_put_off_until_a_time_within_a_year(
    two_short, owner, now, ahead, taken
):
    alert, until = of(two_short[0]), now + ahead
    if taken:
        actions.snooze(alert=alert, until=until, by=owner, now=now)
    else:
        with pytest.raises(Refused, match="between tomorrow and a year") as refused:
            actions.snooze(alert=alert, until=until, by=owner, now=now)
        assert refused.value.code == "alerts.snooze"
    alert.refresh_from_db()
    assert alert.snoozed_until == (until if taken else None)
    assert of(two_short[1]).snoozed_until is None


@pytest.mark.slow
def test_one_put_off_is_neither_shown_nor_mailed_before_its_time(two_short, owner, now):
    first, second = of(two_short[0]), of(two_short[1])
    until = now + timedelta(days=2)
    actions.snooze(alert=first, until=until, by=owner, now=now)
    assert first not in shown_alerts(now)
    assert second in shown_alerts(now)
    assert actions.deliver(now=now) == 2
    assert actions.deliver(now=until - timedelta(seconds=1)) == 0
    assert first in shown_alerts(until)
    assert actions.deliver(now=until) == 1
    first.refresh_from_db()
    assert first.sent_at == until
    assert first.attempts == 1


@pytest.mark.slow
def test_whoever_sees_it_first_is_kept_and_only_of_that_one(two_short, owner, now):
    first, second = of(two_short[0]), of(two_short[1])
    actions.see(alert=first, by=owner, now=now)
    actions.see(alert=first, by=owner, now=now + timedelta(days=1))
    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.seen_at, first.seen_by) == (now, owner)
    assert second.seen_at is None
    assert first in open_alerts()


@pytest.mark.slow
def test_only_what_matters_is_mailed_and_nothing_without_an_address(
    two_short, owner, now
):
    owner.email = ""
    owner.save()
    assert actions.deliver(now=now) == 0
    assert mail.outbox == []
    owner.email = "marlow@example.org"
    owner.save()
    assert actions.deliver(now=now) == 3
    assert set(Alert.objects.exclude(sent_at=None).values_list("cause", flat=True)) == {
        "short",
        "keep_level",
    }
    assert {cause for cause in CAUSES if cause not in MAILED} == {"count"}


@pytest.mark.slow
def test_a_message_id_is_the_same_for_the_same_letter(two_short, now):
    Alert.objects.filter(cause="keep_level").delete()
    actions.deliver(now=now)
    Alert.objects.update(sent_at=None)
    actions.deliver(now=now + timedelta(minutes=5))
    first, again = (letter.extra_headers["Message-ID"] for letter in mail.outbox)
    assert first == again
