"""The first page: what to order, what to do tonight, what is doubtful, the road ahead."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory import days
from inventory.alerts.actions import come_back
from inventory.alerts.tasks import wake
from inventory.buying.models import OrderPlan
from inventory.buying.queries.plans import last_plan
from inventory.buying.rules.market import DAYS_AHEAD
from inventory.buying.solver.solving import SECONDS
from inventory.catalog.models import Item
from inventory.forecasting.queries.readiness import Readiness, StageReadiness, readiness
from inventory.forecasting.queries.recounts import recounts
from inventory.forecasting.queries.report import callout_of, words_of
from inventory.forecasting.queries.tray import Tray, tray, usual
from inventory.forecasting.rules.lines import Line
from inventory.forecasting.rules.readiness import READY, READY_BUT_FOR
from inventory.ledger.queries.acts import Deed, deeds
from inventory.ledger.queries.loans import loans
from inventory.ordering.models import Order
from inventory.ordering.queries import still_owed
from inventory.people.queries import shop
from inventory.planning.queries import current_build, stages
from inventory.planning.rules.whatif import WhatIf
from inventory.web.forms import Redate, Suppose
from inventory.web.parts import checked, keep, person
from inventory.web.road import Axis, Mark, axis_of
from inventory.web.views.first import first_steps

# What must leave within so many days is asked for on top; later things only by their day.
SOON = timedelta(days=14)
# After an absence so many of the last things done say where one was.
WHERE_YOU_WERE = 4


@dataclass(frozen=True)
class ShownLine:
    """One line of a stage's table, with its words."""

    line: Line
    words: str
    item: Item | None
    callout: str
    too_late: bool


@dataclass(frozen=True)
class ShownStage:
    """One stage: verdict, what is in the way, and the table behind it."""

    row: StageReadiness
    verdict: str
    way: ShownLine | None
    lines: Sequence[ShownLine]
    redate: Redate | None


@dataclass(frozen=True)
class ToOrder:
    """A thing to order, and the first stage that wants it."""

    shown: ShownLine
    stage: str


@dataclass(frozen=True)
class Orders:
    """What is to be ordered: what must leave soon, and the day of the first of it.

    `plan` is today's order plan, if one was worked out and nothing was ordered from it.
    """

    soon: Sequence[ToOrder]
    first: date | None
    is_late: bool
    plan: OrderPlan | None
    days_ahead: int = DAYS_AHEAD
    limit: int = SECONDS


@dataclass(frozen=True)
class Stretch:
    """A stage on the axis of time, with the day by which its first want must be ordered."""

    shown: ShownStage
    start: str
    wide: str
    order_by: str | None


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """What matters today, then every open stage of the build on one axis.

    After a week or more without anybody the alerts are made anew before it is shown.
    """
    back: Sequence[Deed] = ()
    if away := come_back(now=timezone.now()):
        wake()
        back = deeds(WHERE_YOU_WERE, person(request))
        said = f"Nobody was here for {away} days: all was worked out anew."
        messages.info(request, f"{said} A letter sums up what is open.")
    form = Suppose(request.GET or None, stages=stages(current_build()))
    if not request.GET:
        return render(request, "home.html", {**_page(form, WhatIf()), "deeds": back})
    keep(request, "home.html", _page(form, WhatIf()))
    return render(request, "home.html", _page(form, _supposed(form)))


def _page(form: Suppose, what: WhatIf) -> dict[str, Any]:
    found = readiness(timezone.localdate(), what)
    rows = [shown(found, row) for row in found.stages]
    doubtful = recounts(found)
    owing = {row.line.order.pk: row.line.order for row in still_owed()}.values()
    axis = axis_of(
        ((row.dates.start, row.dates.end) for row in found.stages), found.today
    )
    return {
        "found": found,
        "stages": rows,
        "orders": _orders(found),
        "tonight": _tonight(found),
        "recounts": doubtful,
        "look_is_enough": any(not row.counts for row in doubtful),
        "axis": axis,
        "road": [_stretch(axis, row) for row in rows],
        "parcels": [_parcel(axis, order) for order in owing],
        "overdue": [order for order in owing if order.expected_on < found.today],
        "lent": [row for row in loans() if row.is_overdue],
        "suppose": form,
        "what": what,
        "steps_left": _steps_left(),
    }


def _steps_left() -> int:
    """How many of the first steps are to be done, where they are shown at all."""
    return 0 if shop().steps_over else sum(not step.done for step in first_steps())


def _supposed(form: Suppose) -> WhatIf:
    data = checked(form)
    one, other = data["swap"], data["with_stage"]
    swap = (int(one), int(other)) if one and other else None
    return WhatIf(7 * (data["away_weeks"] or 0), swap, float(data["faster"] or 1))


def _orders(found: Readiness) -> Orders:
    """What may run short and is not on order: each thing once, the first day first."""
    wanted: dict[str, ToOrder] = {}
    for row in found.stages:
        for line in row.lines:
            if line.short and line.to_order and line.subject not in wanted:
                wanted[line.subject] = ToOrder(_line(found, line), row.stage.name)
    rows = sorted(wanted.values(), key=lambda each: each.shown.line.order_by)
    first = found.decided.order_by
    until = found.today + SOON
    soon = [each for each in rows if each.shown.line.order_by <= until]
    plan = last_plan()
    is_todays = (
        plan is not None
        and plan.ordered_at is None
        and plan.finished_at is not None
        and timezone.localdate(plan.finished_at) == found.today
        and plan.found.get("suppliers")
    )
    late = first is not None and first < found.today
    return Orders(soon, first, late, plan if is_todays else None)


def _tonight(found: Readiness) -> Tray | None:
    """What the assembly at hand takes, where there is one."""
    rows = usual(found.build)
    return tray(rows, shop(), found.today) if rows else None


def _stretch(axis: Axis, row: ShownStage) -> Stretch:
    dates = row.row.dates
    way = row.way.line if row.way else None
    order_by = axis.at(way.order_by) if way and way.to_order else None
    return Stretch(
        row, axis.at(dates.start), axis.wide(dates.start, dates.end), order_by
    )


def _parcel(axis: Axis, order: Order) -> Mark:
    """An order that still owes something, on the day it is expected, today if overdue."""
    late = "overdue since" if order.expected_on < axis.today else "due"
    words = (
        f"order {order.number} from {order.supplier.name}, {late} "
        f"{days.said(order.expected_on)}"
    )
    return Mark(axis.at(max(order.expected_on, axis.today)), words)


def shown(found: Readiness, row: StageReadiness) -> ShownStage:
    """A stage's readiness for the template."""
    way = row.verdict.in_the_way
    return ShownStage(
        row=row,
        verdict=_verdict(row),
        way=_line(found, way) if way else None,
        lines=[_line(found, line) for line in row.lines],
        redate=_redate(row) if row.dates.late else None,
    )


def _redate(row: StageReadiness) -> Redate:
    return Redate(
        initial={"start": row.dates.start, "shift_later": True},
        auto_id=f"stage_{row.stage.pk}_%s",
    )


def _line(found: Readiness, line: Line) -> ShownLine:
    item = found.items.get(line.item_id)
    words, callout = words_of(found, line), callout_of(found, line)
    return ShownLine(line, words, item, callout, line.order_by < found.today)


def _verdict(row: StageReadiness) -> str:
    word = row.verdict.word
    if row.verdict.in_the_way is None or word == READY:
        return "ready"
    if word == READY_BUT_FOR:
        return "ready but for"
    return f"short of {row.verdict.short_of}"
