"""Raising, updating, clearing and sending alerts; seeing and snoozing them."""

import logging
from datetime import datetime, timedelta

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.db import IntegrityError, transaction
from django.db.models import F, Max, Q
from django.utils import timezone

from inventory.alerts.models import Alert
from inventory.alerts.queries import KIND_OF, findings, open_alerts
from inventory.alerts.rules import MAILED, Finding, letter
from inventory.errors import Refused
from inventory.forecasting.queries.readiness import Touched, touched_by
from inventory.ledger.actions.posting import settle_rechecks
from inventory.ledger.queries import rechecks
from inventory.people.actions import note_visit
from inventory.people.models import User
from inventory.people.queries import mail_address, shop

log = logging.getLogger(__name__)
MAX_SNOOZE = timedelta(days=365)


def settle(*, now: datetime) -> int:
    """Recompute what movements touched; returns how many items had asked.

    What was wanted is read first and marked done after, up to what was read, so that
    a movement in between is not lost. What a count or a parcel teaches of other items
    shows in the hourly look at all.
    """
    wanted = rechecks()
    if wanted:
        wide = any(row.wide for row in wanted)
        recompute(
            now=now,
            touched=None if wide else touched_by(row.item_id for row in wanted),
        )
        settle_rechecks({row.item_id: row.wanted for row in wanted})
    return len(wanted)


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


def deliver(*, now: datetime) -> int:
    """Mail the open alerts that were not mailed yet; returns how many were.

    One mail for all of them. They are marked sent after sending, under a Message-ID
    that is the same if a crash makes it go out twice.
    """
    to = mail_address()
    rows = list(
        open_alerts()
        .filter(cause__in=sorted(MAILED), sent_at=None)
        .filter(Q(snoozed_until=None) | Q(snoozed_until__lte=now))
    )
    if not rows or not to:
        return 0
    subject, body = letter(
        shop().name, [_finding(row) for row in rows], settings.SHOP_URL
    )
    first = f"{rows[0].pk}-{rows[0].episode}-{rows[-1].pk}-{len(rows)}"
    first += f"-{int(rows[0].updated_at.timestamp())}"
    mail = EmailMessage(
        subject=" ".join(subject.split()),
        body=body,
        to=[to],
        headers={"Message-ID": f"<alert-{first}@gripcount.invalid>"},
    )
    keys = [row.pk for row in rows]
    Alert.objects.filter(pk__in=keys).update(attempts=F("attempts") + 1)
    # A sign-in that fails would leave its connection open.
    with get_connection() as mail.connection:
        mail.send()
    return Alert.objects.filter(pk__in=keys, sent_at=None).update(sent_at=now)


def come_back(*, now: datetime) -> int:
    """After more than a week away: recompute at once, then sum up all in one letter.

    Returns the days nobody was here, 0 where it was no long time. The worker sends the
    letter, so that a mail server that is down costs the page nothing.
    """
    away = note_visit(now=now)
    if away is None:
        return 0
    recompute(now=now)
    open_alerts().filter(cause__in=sorted(MAILED)).update(sent_at=None, updated_at=now)
    return away.days


def _finding(row: Alert) -> Finding:
    return Finding(
        row.subject, row.cause, row.title, row.sentence, row.act_by, row.link, row.data
    )


def see(*, alert: Alert, by: User, now: datetime) -> None:
    """Somebody has read it; it stays open until its cause is gone."""
    Alert.objects.filter(pk=alert.pk, seen_at=None).update(seen_at=now, seen_by=by)


def snooze(*, alert: Alert, until: datetime, by: User, now: datetime) -> None:
    """Not to be shown or mailed before a time. Errors: `alerts.snooze`."""
    if not now < until <= now + MAX_SNOOZE:
        raise Refused(
            "alerts.snooze", "Snooze it to a day between tomorrow and a year from now."
        )
    Alert.objects.filter(pk=alert.pk).update(snoozed_until=until)
