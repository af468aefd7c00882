"""Raising, updating, clearing and sending alerts; seeing and snoozing them."""

import logging
import uuid
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.db import IntegrityError, OperationalError, transaction
from django.db.models import F, Max
from django.utils import timezone

from inventory.alerts.models import Alert, Heartbeat, Turn
from inventory.alerts.queries import (
    KIND_OF,
    open_alerts,
    summary,
    unsent_alerts,
)
from inventory.alerts.queries.finding import findings
from inventory.alerts.rules import Finding, digest, is_build_morning, letter
from inventory.errors import Refused
from inventory.forecasting.queries.readiness import Touched, touched_alone, touched_by
from inventory.ledger.actions.posting import (
    fail_recheck,
    settle_rechecks,
    want_all,
)
from inventory.ledger.actions.summing import keep_sums
from inventory.ledger.queries import is_stocked, rechecks, wishes
from inventory.people.actions import claim_summary, note_visit, want_summary
from inventory.people.models import User
from inventory.people.queries import mail_address, shop

log = logging.getLogger(__name__)
MAX_SNOOZE = timedelta(days=365)
# Settling is one process's at a time. Whoever takes longer than this, over it or over a
# letter, is taken for dead; a mail server may take 20 s at each of its steps.
SETTLING, LEASE = "settling", timedelta(minutes=5)


def settle(*, now: datetime) -> int:
    """Recompute what movements touched; returns how many items were looked at.

    What was wanted is read first and marked done after, up to what was read, so that
    a movement in between is not lost. What a count or a parcel teaches of other items
    shows in the hourly look at all. One worker has the turn and goes on until nothing
    is wanted: another finds it taken and need not wait.
    """
    total = 0
    while rechecks():
        with _turn(now) as is_mine:
            done = _settle_once(now) if is_mine else 0
        if not done:
            break
        total += done
    return total


def settle_all(*, now: datetime) -> None:
    """Recompute everything; where another is at it, that one will once more.

    What moved since the last time is summed first, so that no page need add it up.
    """
    keep_sums()
    if want_all():
        settle(now=now)
    else:
        recompute(now=now)


@contextmanager
def _turn(now: datetime) -> Iterator[bool]:
    """Whether nobody else is at it; whoever died over it loses the turn in time."""
    Turn.objects.get_or_create(pk=SETTLING, defaults={"until": now})
    until = now + LEASE
    is_mine = Turn.objects.filter(pk=SETTLING, until__lte=now).update(until=until) == 1
    try:
        yield is_mine
    finally:
        if is_mine:
            Turn.objects.filter(pk=SETTLING, until=until).update(until=now)


def _settle_once(now: datetime) -> int:
    rows = rechecks()
    asked = {row.item_id: row.wanted for row in rows}
    is_wide = any(row.wide for row in rows)
    try:
        recompute(now=now, touched=None if is_wide else touched_by(asked))
    except OperationalError:
        raise  # the database's own failure is no item's
    except Exception:
        log.exception(
            "the look at %s failed: now one by one", "all" if is_wide else asked
        )
        return _settle_one_by_one(wishes() if is_wide else asked, now)
    settle_rechecks(asked)
    return len(asked)


def _settle_one_by_one(asked: Mapping[int, int], now: datetime) -> int:
    """So that an item whose forecast fails silences no other; returns how many went."""
    done: dict[int, int] = {}
    for item, wanted in asked.items():
        try:
            recompute(now=now, touched=touched_alone(item))
        except OperationalError:
            raise
        except Exception:
            log.exception("the forecast of item %s fails", item)
            fail_recheck(item, wanted)
        else:
            done[item] = wanted
    settle_rechecks(done)
    # What was set aside is told as well.
    recompute(now=now, touched=Touched(frozenset(), frozenset()))
    return len(done)


def recompute(*, now: datetime, touched: Touched | None = None) -> int:
    """Make the open alerts what the findings are now; returns how many are open.

    With `touched`, shortages that these movements do not touch stay as they are.
    """
    current = {row.key: row for row in findings(timezone.localdate(now), touched)}
    for alert in open_alerts():
        if touched and not _is_touched(alert, touched):
            continue
        finding = current.pop((alert.subject, alert.cause), None)
        if finding is None:
            _clear(alert, now)
        else:
            _update(alert, finding, now)
    for finding in current.values():
        _raise(finding, now)
    return open_alerts().count()


def _is_touched(alert: Alert, touched: Touched) -> bool:
    """Whether a shortage was reckoned again; every other cause always is."""
    kind = KIND_OF.get(alert.cause)
    return kind is None or touched.concerns(kind, alert.data.get("item") or 0)


def _clear(alert: Alert, now: datetime) -> None:
    Alert.objects.filter(pk=alert.pk, cleared_at=None).update(
        cleared_at=now, updated_at=now
    )


def _fields(finding: Finding) -> dict[str, object]:
    return {
        "title": finding.title[:200],
        "sentence": finding.sentence,
        "act_by": finding.act_by,
        "link": finding.link,
        "data": dict(finding.data),
    }


def _update(alert: Alert, finding: Finding, now: datetime) -> None:
    fresh = _fields(finding)
    if all(getattr(alert, name) == value for name, value in fresh.items()):
        return
    Alert.objects.filter(pk=alert.pk).update(updated_at=now, **fresh)


def _raise(finding: Finding, now: datetime) -> None:
    """A new episode; two workers that raise it at once make one alert."""
    mine = Alert.objects.filter(subject=finding.subject, cause=finding.cause)
    last = mine.aggregate(most=Max("episode"))["most"] or 0
    try:
        with transaction.atomic():
            Alert.objects.create(
                subject=finding.subject,
                cause=finding.cause,
                episode=last + 1,
                raised_at=now,
                updated_at=now,
                **_fields(finding),
            )
    except IntegrityError:
        log.info("raised elsewhere meanwhile: %s", finding.key)


def beat(*, now: datetime) -> None:
    """Note that the worker works."""
    Heartbeat.objects.update_or_create(name="worker", defaults={"at": now})


def deliver(*, now: datetime) -> int:
    """Mail the open alerts that were not mailed yet; returns how many were.

    They are claimed before they are sent, so that of several workers one sends them,
    and marked sent after. A letter that failed, or whose sender died, goes out again as
    it was, under the same Message-ID. Errors: the first letter's that could not be sent.
    """
    to = mail_address()
    sent, failed = 0, None
    for letter_id in _claimed(now) if to else ():
        rows = list(open_alerts().filter(letter=letter_id, sent_at=None))
        if not rows:
            continue  # what it was to say has cleared meanwhile
        mine = Alert.objects.filter(pk__in=[row.pk for row in rows], letter=letter_id)
        try:
            _send(rows, letter_id, to)
        except (OSError, ValueError) as error:
            mine.update(leased_until=now)
            failed = failed or error
        else:
            sent += mine.filter(sent_at=None).update(sent_at=now)
    if failed:
        raise failed
    return sent


def _claimed(now: datetime) -> list[str]:
    """The letters that are ours to send: those left behind, and one of what is new."""
    unsent = unsent_alerts(now)
    left = set(unsent.exclude(letter="").order_by().values_list("letter", flat=True))
    until = {"leased_until": now + LEASE, "attempts": F("attempts") + 1}
    mine = [each for each in sorted(left) if unsent.filter(letter=each).update(**until)]
    fresh = str(uuid.uuid4())
    if unsent.filter(letter="").update(letter=fresh, **until):
        mine.append(fresh)
    return mine


def _send(rows: Sequence[Alert], letter_id: str, to: str) -> None:
    """One mail for all of them."""
    found = [_finding(row) for row in rows]
    subject, body = letter(shop().name, found, settings.SHOP_URL)
    _mail(" ".join(subject.split()), body, to, letter_id)


def _mail(subject: str, body: str, to: str, letter_id: str) -> None:
    mail = EmailMessage(
        subject=subject,
        body=body,
        to=[to],
        headers={"Message-ID": f"<alert-{letter_id}@gripcount.invalid>"},
    )
    # A sign-in that fails would leave its connection open.
    with get_connection() as mail.connection:
        mail.send()


def send_test_letter() -> str:
    """Send a letter that says nothing but that it came; returns to whom.

    Errors: `alerts.no_address`, `alerts.not_sent`.
    """
    to = mail_address()
    if not to:
        raise Refused(
            "alerts.no_address", "Nobody's address is known: key one, then try again."
        )
    name = shop().name
    mail = EmailMessage(
        subject=f"{name}: a test letter",
        body="This letter came: alerts will come the same way.",
        to=[to],
    )
    try:
        with get_connection() as mail.connection:
            mail.send()
    except (OSError, ValueError) as error:
        raise Refused(
            "alerts.not_sent",
            f"The letter could not be sent: {error}. Check the mail server's name, port "
            "and sign-in (GRIPCOUNT_SMTP), then try again.",
        ) from error
    return to


def come_back(*, now: datetime) -> int:
    """After more than a week away: recompute at once, then sum up all in one letter.

    Returns the days nobody was here, 0 where it was no long time. The worker sends the
    letter, so that a mail server that is down costs the page nothing.
    """
    away = note_visit(now=now)
    if away is None:
        return 0
    settle_all(now=now)
    want_summary()
    return away.days


def sum_up(*, now: datetime) -> bool:
    """Send the letter that sums up, on the morning of a build day or after an absence.

    One a day; whether it was sent. Errors: that it could not be; the next look tries
    again.
    """
    row, to, at = shop(), mail_address(), timezone.localtime(now)
    is_morning = is_build_morning(at, row.build_days) and row.summed_on != at.date()
    if not to or not is_stocked() or not (row.sum_is_due or is_morning):
        return False
    if not claim_summary(day=at.date(), before=row):
        return False
    subject, body = digest(row.name, at.date(), summary(at.date()), settings.SHOP_URL)
    try:
        _mail(" ".join(subject.split()), body, to, str(uuid.uuid4()))
    except (OSError, ValueError):
        want_summary()
        raise
    return True


def _finding(row: Alert) -> Finding:
    return Finding(
        row.subject, row.cause, row.title, row.sentence, row.act_by, row.link, row.data
    )


def see(*, alert: Alert, by: User, now: datetime) -> None:
    """Somebody has read it; it stays open until its cause is gone."""
    Alert.objects.filter(pk=alert.pk, seen_at=None).update(seen_at=now, seen_by=by)


def unsee(*, alert: Alert) -> None:
    """It was marked as seen by mistake."""
    Alert.objects.filter(pk=alert.pk).update(seen_at=None, seen_by=None)


def show_again(*, alert: Alert) -> None:
    """It was put off by mistake, or for too long: it is shown again."""
    Alert.objects.filter(pk=alert.pk).update(snoozed_until=None)


def snooze(*, alert: Alert, until: datetime, by: User, now: datetime) -> None:
    """Not to be shown or mailed before a time. Errors: `alerts.snooze`."""
    if not now < until <= now + MAX_SNOOZE:
        raise Refused(
            "alerts.snooze", "Snooze it to a day between tomorrow and a year from now."
        )
    Alert.objects.filter(pk=alert.pk).update(snoozed_until=until)
