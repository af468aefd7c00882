"""Workers beside each other: each letter once, one look at a time, no item silences others."""

import contextlib
import threading
from datetime import timedelta

import pytest
from django.core import mail
from django.core.mail.backends.base import BaseEmailBackend
from django.db import OperationalError

from inventory import errands
from inventory.alerts import actions, tasks
from inventory.alerts.models import Alert, Turn
from inventory.alerts.queries import open_alerts
from inventory.catalog.actions import item_for_callout
from inventory.forecasting.rules import deciding
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.actions.posting import want_all, want_recheck
from inventory.ledger.models import Recheck
from inventory.ledger.queries import set_aside
from inventory.ledger.rules import MOST_ATTEMPTS
from inventory.planning.actions import importing
from tests.parallel import in_parallel

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
CALLOUTS = ("AN426AD3-3.5", "MS20470AD4-5", "MS20470AD6-8")


@pytest.fixture
def bins(owner, now, ask, rivets):
    """Bins of which a stage asks for more than they hold."""
    found = [rivets]
    for callout in CALLOUTS[1:]:
        bin = open_bin(item=item_for_callout(text=callout), by=owner)
        verbs.count(bin=bin, counted=10, ask=ask())
        found.append(bin)
    start = (now + timedelta(days=12)).date()
    rows = "".join(f"Fin,{start},Skin,{callout},60\n" for callout in CALLOUTS)
    text = "stage,start,assembly,callout,each\n" + rows
    plan = importing.preview(name="plan.csv", data=text.encode())
    importing.apply(found=plan, by=owner, now=now)
    return found


def told():
    rows = open_alerts().filter(cause="short").values_list("subject", flat=True)
    return {int(subject.removeprefix("item ")) for subject in rows}


class Meeting(BaseEmailBackend):
    """A mail server so slow that whoever else would send has come by meanwhile."""

    came = threading.Barrier(2)

    def send_messages(self, messages):
        with contextlib.suppress(threading.BrokenBarrierError):
            self.came.wait(2)
        mail.outbox += messages
        return len(messages)


def test_of_two_workers_with_a_slow_mail_server_one_sends_the_letter(
    bins, settings, now
):
    actions.settle(now=now)
    settings.EMAIL_BACKEND = f"{__name__}.Meeting"
    sent = in_parallel(lambda _n: actions.deliver(now=now), 4)
    assert sorted(sent) == [0, 0, 0, 3]
    assert len(mail.outbox) == 1
    assert not Alert.objects.filter(sent_at=None).exists()


def test_a_letter_whose_sender_died_goes_out_again_as_it_was(bins, now, monkeypatch):
    actions.settle(now=now)
    with monkeypatch.context() as killed:
        killed.setattr(
            actions, "_send", lambda *_all: (_ for _ in ()).throw(SystemExit)
        )
        with pytest.raises(SystemExit):
            actions.deliver(now=now)
    assert actions.deliver(now=now + timedelta(minutes=1)) == 0
    first = set(Alert.objects.values_list("letter", flat=True))
    assert actions.deliver(now=now + actions.LEASE) == 3
    (letter,) = mail.outbox
    assert {letter.extra_headers["Message-ID"]} == {
        f"<alert-{each}@gripcount.invalid>" for each in first
    }
    assert set(Alert.objects.values_list("attempts", flat=True)) == {2}


def test_one_look_at_a_time_and_whoever_has_the_turn_goes_on(bins, now, monkeypatch):
    looked, plain = [], actions.recompute

    def look(**how):
        looked.append(threading.get_ident())
        if len(looked) == 1:
            # Somebody moves something meanwhile, and another worker comes by.
            want_recheck(bins[0].item_id)
            assert in_parallel(lambda _n: actions.settle(now=now), 1) == [0]
        return plain(**how)

    monkeypatch.setattr(actions, "recompute", look)
    assert actions.settle(now=now) == len(bins) + 1
    assert looked == [threading.get_ident()] * 2


def test_a_turn_of_one_that_died_ends(bins, now):
    Turn.objects.create(name=actions.SETTLING, until=now + actions.LEASE)
    assert actions.settle(now=now) == 0
    assert actions.settle(now=now + actions.LEASE) == len(bins)


@pytest.fixture
def poisoned(bins, monkeypatch):
    """The forecast of the first bin's item fails, in whatever company it is made."""
    plain = deciding.lines_of_items

    def lines(asks, supplies, confidence, only):
        if bins[0].item_id in only:
            raise ArithmeticError("a figure that cannot be")
        return plain(asks, supplies, confidence, only)

    with monkeypatch.context() as poison:
        poison.setattr(deciding, "lines_of_items", lines)
        yield bins[0].item_id, poison


def test_an_item_whose_forecast_fails_silences_no_other(bins, poisoned, now):
    item, poison = poisoned
    others = {bin.item_id for bin in bins[1:]}
    assert actions.settle(now=now) == len(others)
    assert told() == others
    for _ in range(MOST_ATTEMPTS):
        assert set_aside() == []
        actions.settle(now=now)
        if set_aside():
            break
    assert [row.item_id for row in set_aside()] == [item]
    assert Recheck.objects.get(pk=item).attempts == MOST_ATTEMPTS
    (fault,) = open_alerts().filter(cause="unreckoned")
    assert "its forecast fails" in fault.title
    actions.deliver(now=now)
    assert fault.title in "".join(letter.body for letter in mail.outbox)
    # Nobody asks for it any more, until it changes or the hour comes.
    assert actions.settle(now=now) == 0
    poison.undo()
    want_recheck(item)
    actions.settle(now=now)
    assert told() == others | {item}
    assert set_aside() == []
    actions.settle_all(now=now)
    assert not open_alerts().filter(cause="unreckoned").exists()


def test_the_hourly_look_goes_round_it_too(bins, poisoned, now):
    want_all()
    actions.settle(now=now)
    assert told() == {bin.item_id for bin in bins[1:]}


def test_a_failing_database_is_no_items_fault(bins, now, monkeypatch):
    def fails(**_how):
        raise OperationalError

    monkeypatch.setattr(actions, "recompute", fails)
    with pytest.raises(OperationalError):
        actions.settle(now=now)
    assert set(Recheck.objects.values_list("attempts", flat=True)) == {0}
    monkeypatch.undo()
    assert actions.settle(now=now) == len(bins)


@pytest.fixture
def messages(monkeypatch):
    """What goes to the broker."""
    found = []
    monkeypatch.setattr(tasks, "_sender", tasks.Sender())
    monkeypatch.setattr(tasks.settle, "delay", lambda: found.append("settle"))
    return found


def test_no_second_message_while_the_first_was_not_taken(bins, now, messages):
    for _ in range(20):
        tasks.wake()
        assert errands.wait(60)
    assert len(messages) == 1
    actions.settle(now=now)
    want_recheck(bins[0].item_id)
    tasks.wake()
    assert errands.wait(60)
    assert len(messages) == 2


def test_a_lost_message_is_sent_again_in_time(bins, messages, monkeypatch):
    tasks.wake()
    assert errands.wait(60)
    monkeypatch.setattr(tasks._sender, "at", tasks._sender.at - tasks.LOST)
    tasks.wake()
    assert errands.wait(60)
    assert len(messages) == 2


def test_a_broker_that_is_down_fails_no_request(bins, messages, monkeypatch):
    def fails():
        raise OSError("nobody listens")

    monkeypatch.setattr(errands, "_errands", errands.Errands())
    monkeypatch.setattr(tasks.settle, "delay", fails)
    tasks.wake()
    assert errands.wait(60)
    tasks.wake()
