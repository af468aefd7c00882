"""What there is to tell now, and what was told."""

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

from django.conf import settings
from django.db.models import F, Q, QuerySet
from django.utils.timezone import localdate

from inventory import days
from inventory.alerts.models import Alert
from inventory.alerts.rules import MAILED, Finding, Parts, order_words
from inventory.backups.queries import last_backup, why_failed
from inventory.backups.rules import OLD
from inventory.errors import Refused
from inventory.forecasting.queries.readiness import (
    Readiness,
    StageReadiness,
    Touched,
    readiness,
)
from inventory.forecasting.queries.report import verdict_words, words_of
from inventory.forecasting.rules.lines import LINES, Line
from inventory.forecasting.rules.readiness import READY
from inventory.ledger.queries import (
    Act,
    bins_to_count,
    bins_with_a_keep_level,
    is_stocked,
    last_check,
    quantities_at,
    set_aside,
)
from inventory.ledger.queries.acts import last_act
from inventory.ledger.queries.loans import loans
from inventory.ledger.queries.lots import lots_ending
from inventory.ordering.queries import overdue
from inventory.people.queries import mail_address
from inventory.planning.models import CLOSED, IN_WORK, Need
from inventory.planning.queries import current_build, open_assemblies, waiting_for
from inventory.planning.queries.asking import tallies

# The kind of line a shortage is about, by its cause.
KIND_OF = {each.cause: each.kind for each in LINES}
FAR = date(2150, 1, 1)


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


def alert_numbered(pk: int) -> Alert:
    """Errors: `alerts.no_alert`."""
    row = Alert.objects.filter(pk=pk).first()
    if row is None:
        raise Refused("alerts.no_alert", f"There is no alert {pk}.")
    return row


def findings(today: date, touched: Touched | None = None) -> list[Finding]:
    """Every cause for concern as of a day, each subject and cause once.

    With `touched`, of the shortages only those that these movements touch.
    """
    forecast = readiness(today, touched=touched)
    found: dict[tuple[str, str], Finding] = {}
    for finder in FINDERS:
        for row in finder(forecast):
            found.setdefault(row.key, row)
    return list(found.values())


def _shortages(forecast: Readiness) -> Iterator[Finding]:
    """The first stage each item, pool or drill size fails."""
    for stage in forecast.stages:
        for line in stage.lines:
            if line.short:
                yield _shortage(forecast, stage, line)


def _shortage(forecast: Readiness, stage: StageReadiness, line: Line) -> Finding:
    item = forecast.items.get(line.item_id)
    words = line.words(item.title if item else f"item {line.item_id}")
    start = (
        f"{days.said(stage.dates.start)}{' (a guess)' if stage.dates.is_guess else ''}"
    )
    order = order_words(
        line.to_order, line.order_by, forecast.today, guess=line.lead.is_guess
    )
    to_do = [each for each in (line.on_order, order and f"to be safe {order}") if each]
    said = "; ".join(to_do) or "recount it, or move the date"
    return Finding(
        subject=line.subject,
        cause=line.cause,
        title=f"{words} {line.runs} short in {stage.stage.name}",
        sentence=f"Stage {stage.stage.name} starts {start}. Short of {words}: {line.why_short}. "
        f"{said[0].upper()}{said[1:]}.",
        # What is on order needs nobody's order day: it is wanted when the stage starts.
        act_by=line.order_by if line.to_order else stage.dates.start,
        link=f"/stages/{stage.stage.pk}/",
        data={
            "stage": stage.stage.name,
            "start": stage.dates.start.isoformat(),
            "item": line.item_id or None,
            "callout": item.callout if item else "",
            "to_order": line.to_order,
            "ordered_late": line.late,
            "days_late": line.days_late,
            "order_by": line.order_by.isoformat(),
            "chance_short": round(line.chance_short, 4),
        },
    )


def _late(forecast: Readiness) -> Iterator[Finding]:
    for row in forecast.stages:
        if row.dates.late:
            yield Finding(
                f"stage {row.stage.pk}",
                "late",
                f"{row.stage.name} has not started",
                f"It was planned for {days.said(row.stage.planned_start)}. Give it a new date: "
                "what follows shifts with it.",
                row.stage.planned_start,
                f"/stages/{row.stage.pk}/",
            )


def _keep_levels(forecast: Readiness) -> Iterator[Finding]:
    rows = bins_with_a_keep_level()
    there = quantities_at(bin.place_id for bin in rows)
    for bin in rows:
        holds, keep = there.get((bin.place_id, bin.item_id), 0), bin.keep_level or 0
        if holds < keep:
            yield Finding(
                f"bin {bin.number}",
                "keep_level",
                f"Bin {bin.number}, {bin.item.words}: under its keep level",
                f"It holds {holds} by the record and should keep {keep}: order at "
                f"least {keep - holds}.",
                link=f"/bins/{bin.number}/",
                data={"item": bin.item_id, "held": holds, "keep_level": keep},
            )


def _shelf_lives(forecast: Readiness) -> Iterator[Finding]:
    """Lots that end before the last stage that uses them; in no plan: before they do."""
    last = _last_use(forecast)
    for stay in lots_ending(FAR):
        lot, item = stay.lot, stay.bin.item
        ends = lot.expires_on
        use = last.get(item.pk)
        if ends is None or not (ends < forecast.today or (use and ends < use)):
            continue
        when = (
            f"its planned use runs to {days.said(use)}"
            if use
            else "it is past its life"
        )
        yield Finding(
            f"lot {lot.pk} in bin {stay.bin.number}",
            "shelf_life",
            f"{item.words}, lot {lot.name}: use by {days.said(ends)}",
            f"{when[0].upper()}{when[1:]}. Use it earlier, test it by its maker's "
            "rule, or order fresh; do not use it past its life untested.",
            ends,
            f"/bins/{stay.bin.number}/",
            {"item": item.pk, "lot": lot.name, "expires_on": ends.isoformat()},
        )


def _last_use(forecast: Readiness) -> dict[int, date]:
    """The last start of an open stage that asks for each item."""
    starts = {row.stage.pk: row.dates.start for row in forecast.stages}
    found: dict[int, date] = {}
    rows = Need.objects.filter(assembly__stage__in=list(starts))
    for stage, item in rows.exclude(assembly__state=CLOSED).values_list(
        "assembly__stage_id", "item_id"
    ):
        found[item] = max(starts[stage], found.get(item, starts[stage]))
    return found


def _overdue(forecast: Readiness) -> Iterator[Finding]:
    rows = overdue(forecast.today)
    waiting = waiting_for(row.line.item_id for row in rows)
    for row in rows:
        order, item = row.line.order, row.line.item
        held_up = waiting.get(item.pk, [])
        blocked = f" {held_up[0]} waits for it." if held_up else ""
        yield Finding(
            f"order line {row.line.pk}",
            "overdue",
            f"Order {order.number}: {item.words} is overdue",
            f"{row.pieces or row.line.packs} of {item.title} from "
            f"{order.supplier.name} were expected {days.said(order.expected_on)}.{blocked} Ask the "
            "supplier; missing parts are often free only for about 30 days.",
            order.expected_on,
            f"/orders/{order.number}/",
            {"order": order.number, "item": item.pk, "pieces": row.pieces},
        )


def _loans(forecast: Readiness) -> Iterator[Finding]:
    """What should be back, and what should be given back."""
    for row in loans():
        if row.due_on is not None and row.due_on < forecast.today:
            to_do = "Ask for it" if row.is_lent else "Give it back"
            yield Finding(
                f"item {row.item.pk} with place {row.place.pk}",
                "lent",
                f"{row.item.words}: {row.words}",
                f"{row.quantity} of {row.item.title} were due back "
                f"{days.said(row.due_on)}. {to_do}, or agree on another day.",
                row.due_on,
                "/lent/",
                {"item": row.item.pk, "quantity": row.quantity},
            )


def _counts(forecast: Readiness) -> Iterator[Finding]:
    for bin in bins_to_count():
        yield Finding(
            f"bin {bin.number}",
            "count",
            f"Count bin {bin.number}, {bin.item.words}",
            f"{bin.count_reason or 'Its record is in doubt'}: count what is in it.",
            link=f"/bins/{bin.number}/",
            data={"item": bin.item_id},
        )


def _unreckoned(forecast: Readiness) -> Iterator[Finding]:
    """What no forecast is made of any more: nobody would be warned of it."""
    for row in set_aside():
        yield Finding(
            f"forecast of item {row.item_id}",
            "unreckoned",
            f"{row.item.words}: its forecast fails",
            f"Gripcount tried {row.attempts} times to work it out and warns of nothing "
            "there meanwhile: count it yourself. Its needs, offers and dates may hold a "
            "figure that cannot be; the worker's log says what failed. After any "
            "change it is tried again.",
            link=f"/items/{row.item_id}/",
            data={"item": row.item_id},
        )


def _record(forecast: Readiness) -> Iterator[Finding]:
    """The record failed its proof: nothing that it says is certain until that is mended."""
    last = last_check()
    if last is not None and last.found:
        yield Finding(
            "record",
            "record",
            "The record does not add up",
            f"{len(last.found)} of its checks failed, the first: {last.found[0]}. Keep a "
            "copy of the data folder as it is now; count what you need before you trust "
            "what a bin is said to hold.",
            localdate(last.at),
            "/settings/",
            {"flaws": len(last.found)},
        )


# Who finds what there is to tell; a shortage's cause is its line's.
def _backup(forecast: Readiness) -> Iterator[Finding]:
    """A backup that failed, or none for longer than a week."""
    folder = Path(settings.DATA)
    last, failed = last_backup(folder), why_failed(folder)
    old = last is not None and forecast.today - localdate(last.at) > OLD
    if not (failed or old):
        return
    said = [f"The last is of {days.said(localdate(last.at))}." if last else ""]
    said += [failed or "Leave the shop running for ten minutes: the worker makes one."]
    yield Finding(
        "backups",
        "backup",
        "No fresh backup of the shop",
        " ".join(filter(None, said)),
        link="/settings/",
    )


FINDERS = (
    _backup,
    _shortages,
    _late,
    _keep_levels,
    _shelf_lives,
    _overdue,
    _loans,
    _counts,
    _unreckoned,
    _record,
)


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
    last = [f"{_told(act)}, {act.by}, {localdate(act.at)}"] if act else []
    return last + [
        f"{row.stage.name} / {row.name} is in work, {left[row.pk]} pieces still asked"
        for row in rows
    ]


def _told(act: Act) -> str:
    """'pulled 30 3/32 flush, 7/32 long from bin 12 to Skin'."""
    moved, verb = act.told_by, act.get_verb_display()
    if act.counted is not None and act.bin is not None:
        return f"{verb} {act.counted} {act.bin.item.words} in {act.bin}"
    if moved is None:
        return str(verb)
    return (
        f"{verb} {moved.quantity} {moved.item.words} from {moved.source} to "
        f"{moved.target}"
    )
