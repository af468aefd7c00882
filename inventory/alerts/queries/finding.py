"""What there is to tell on a day: every cause for concern, each with its finder."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

from django.conf import settings
from django.utils.timezone import localdate

from inventory import days
from inventory.alerts.rules import Finding, order_words
from inventory.backups.queries import last_backup, why_failed
from inventory.backups.rules import OLD
from inventory.forecasting.queries.readiness import (
    Readiness,
    StageReadiness,
    Touched,
    readiness,
)
from inventory.forecasting.rules.lines import Line
from inventory.ledger.queries import (
    bins_to_count,
    bins_with_a_keep_level,
    last_check,
    quantities_at,
    set_aside,
)
from inventory.ledger.queries.loans import loans
from inventory.ledger.queries.lots import lots_ending
from inventory.ordering.queries import overdue
from inventory.planning.models import CLOSED, Need
from inventory.planning.queries import waiting_for

FAR = date(2150, 1, 1)


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
            "to_do": order_words(
                line.to_order, line.order_by, forecast.today, guess=False
            ),
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
                f"{row.quantity:,} of {row.item.title} were due back "
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
        "The backups of the shop want a look",
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
