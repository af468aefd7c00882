"""The first page: may each stage start, and what one thing is in the way."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.alerts.actions import come_back
from inventory.alerts.tasks import wake
from inventory.catalog.models import Item
from inventory.forecasting.queries.readiness import Readiness, StageReadiness, readiness
from inventory.forecasting.queries.recounts import recounts
from inventory.forecasting.queries.report import callout_of, words_of
from inventory.forecasting.rules.lines import Line
from inventory.forecasting.rules.readiness import READY, READY_BUT_FOR
from inventory.people.queries import shop
from inventory.planning.queries import current_build, stages
from inventory.planning.rules.whatif import WhatIf
from inventory.web.forms import Redate, Suppose
from inventory.web.parts import checked, keep
from inventory.web.views.first import first_steps


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
    """One stage as a card: verdict, what is in the way, and the table behind it."""

    row: StageReadiness
    verdict: str
    way: ShownLine | None
    lines: Sequence[ShownLine]
    redate: Redate | None


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """Every open stage of the build, in the plan's order.

    After a week or more without anybody the alerts are made anew before it is shown.
    """
    if days := come_back(now=timezone.now()):
        wake()
        said = f"Nobody was here for {days} days: all was worked out anew."
        messages.info(request, f"{said} A letter sums up what is open.")
    form = Suppose(request.GET or None, stages=stages(current_build()))
    if not request.GET:
        return render(request, "home.html", _page(form, WhatIf()))
    keep(request, "home.html", _page(form, WhatIf()))
    return render(request, "home.html", _page(form, _supposed(form)))


def _page(form: Suppose, what: WhatIf) -> dict[str, Any]:
    found = readiness(timezone.localdate(), what)
    return {
        "found": found,
        "stages": [shown(found, row) for row in found.stages],
        "recounts": recounts(found),
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
