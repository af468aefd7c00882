"""What there is to tell now, and what was told."""

from datetime import date, datetime

from django.conf import settings
from django.db.models import F, Q, QuerySet
from django.utils.timezone import localdate

from inventory import days
from inventory.alerts.models import Alert
from inventory.alerts.rules import MAILED, Parts, order_words
from inventory.errors import Refused
from inventory.forecasting.queries.readiness import Readiness, readiness
from inventory.forecasting.queries.report import verdict_words, words_of
from inventory.forecasting.rules.lines import LINES
from inventory.forecasting.rules.readiness import READY
from inventory.ledger.queries import Act, is_stocked
from inventory.ledger.queries.acts import last_act
from inventory.people.queries import mail_address
from inventory.people.rules import Doing
from inventory.planning.models import IN_WORK
from inventory.planning.queries import current_build, open_assemblies
from inventory.planning.queries.asking import tallies

# The kind of line a shortage is about, by its cause.
KIND_OF = {each.cause: each.kind for each in LINES}


def open_alerts() -> QuerySet[Alert]:
    """Every alert whose cause stands, the nearest date first."""
    dated = F("act_by").asc(nulls_last=True)
    return Alert.objects.filter(cleared_at=None).order_by(dated, "pk")


def shown_alerts(now: datetime) -> QuerySet[Alert]:
    """Open alerts that are not snoozed."""
    return open_alerts().filter(Q(snoozed_until=None) | Q(snoozed_until__lte=now))


def unsent_alerts(now: datetime) -> QuerySet[Alert]:
    """Alerts that are to be mailed, were not, and nobody is at.

    None of a change of the last minutes, and none before the stock was stated once:
    a plan alone would be short of everything.
    """
    if not is_stocked():
        return Alert.objects.none()
    return (
        shown_alerts(now)
        .filter(raised_at__lte=now - settings.LETTER_WAIT)
        .filter(cause__in=sorted(MAILED), sent_at=None)
        .filter(Q(leased_until=None) | Q(leased_until__lte=now))
    )


# A letter that failed so often is told of on the pages.
FAILED_OFTEN = 3


def why_unheard() -> str:
    """Why letters reach nobody, with what to do; '' where they go out."""
    if settings.EMAIL_BACKEND.endswith("filebased.EmailBackend"):
        return (
            f"Letters reach nobody: they become files in {settings.EMAIL_FILE_PATH}. "
            "Start the shop with a mail server (GRIPCOUNT_SMTP) to have them sent."
        )
    if not mail_address():
        return "Letters reach nobody: key an address under Settings."
    failing = open_alerts().filter(sent_at=None, attempts__gte=FAILED_OFTEN)
    if failing.exists():
        return (
            "The mail server takes no letters: check GRIPCOUNT_SMTP and send a test "
            "letter under Settings."
        )
    return ""


def doings(since: datetime, until: datetime, most: int) -> list[Doing]:
    """Alerts that somebody marked as seen in a span."""
    rows = Alert.objects.filter(seen_at__gte=since, seen_at__lt=until)
    return [
        Doing(row.seen_at, str(row.seen_by), row.seen_by.pk, f"seen: {row}", "alerts")
        for row in rows.select_related("seen_by").order_by("-seen_at")[:most]
        if row.seen_at and row.seen_by
    ]


def alert_numbered(pk: int) -> Alert:
    """Errors: `alerts.no_alert`."""
    row = Alert.objects.filter(pk=pk).first()
    if row is None:
        raise Refused("alerts.no_alert", f"There is no alert {pk}.")
    return row


MOST_LINES = 12


def summary(today: date) -> Parts:
    """What the letter that sums up says: what is ready, to order, open, and where
    everybody was."""
    found = readiness(today)
    ready = [row for row in found.stages if row.verdict.word == READY]
    rest = [row for row in found.stages if row not in ready]
    return [
        ("May start:", [row.stage.name for row in ready]),
        (
            "May not yet:",
            [f"{row.stage.name}: {verdict_words(found, row)}" for row in rest],
        ),
        ("To order, the earliest first:", _orders(found)),
        ("What needs doing:", [row.title for row in open_alerts()[:MOST_LINES]]),
        ("Where you were:", _where_you_were()),
    ]


def _orders(found: Readiness) -> list[str]:
    rows = [
        (line.order_by, f"{words_of(found, line)}, for {row.stage.name}", line)
        for row in found.stages
        for line in row.lines
        if line.to_order
    ]
    return [
        f"{what}: "
        + order_words(
            line.to_order, line.order_by, found.today, guess=line.lead.is_guess
        )
        for _day, what, line in sorted(rows, key=lambda row: row[:2])[:MOST_LINES]
    ]


def _where_you_were() -> list[str]:
    """What was done last, and what is in work with what it still asks."""
    rows = open_assemblies(current_build()).filter(state=IN_WORK)
    asked = tallies(rows)
    left = {
        row.pk: sum(each.remaining for each in asked.get(row.pk, {}).values())
        for row in rows
    }
    act = last_act()
    when = days.said(localdate(act.at)) if act else ""
    last = [f"{_told(act)}, {act.by}, {when}"] if act else []
    return last + [
        f"{row.stage.name} / {row.name} is in work, {left[row.pk]:,} pieces still asked"
        for row in rows
    ]


def _told(act: Act) -> str:
    """'pulled 30 3/32 flush, 7/32 long from bin 12 to Skin'."""
    moved, verb = act.told_by, act.get_verb_display()
    if act.counted is not None and act.bin is not None:
        return f"{verb} {act.counted:,} {act.bin.item.words} in {act.bin}"
    if moved is None:
        return str(verb)
    return (
        f"{verb} {moved.quantity:,} {moved.item.words} from {moved.source} to "
        f"{moved.target}"
    )
