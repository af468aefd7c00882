"""The readiness of a build as data and in words; every door says it the same way."""

from typing import Any

from inventory import days
from inventory.forecasting.queries.readiness import Readiness, StageReadiness
from inventory.forecasting.queries.recounts import recounts
from inventory.forecasting.rules.lines import ItemLine, Line
from inventory.forecasting.rules.readiness import OVER, READY, READY_BUT_FOR
from inventory.trade.cautions import AIRWORTHINESS


def as_data(found: Readiness) -> dict[str, Any]:
    """The whole answer as JSON-ready data; days are ISO dates, chances 0 to 1."""
    return {
        "build": found.build.name if found.build else None,
        "today": found.today.isoformat(),
        "stage_confidence": found.confidence,
        "bit_life_holes": round(found.bit_life.median, 1),
        "bit_life_is_guess": found.bit_life.is_guess,
        "stages": [_stage(found, row) for row in found.stages],
        "recounts": [
            {
                "bin": row.bin.number,
                "callout": row.bin.item.callout,
                "words": row.bin.item.words,
                "record": row.balance,
                "doubt": round(row.doubt, 1),
                "stage": row.stage,
                "worth": round(row.worth, 6),
                "look_is_enough": not row.counts,
            }
            for row in recounts(found)
        ],
        "note": AIRWORTHINESS,
    }


def _stage(found: Readiness, row: StageReadiness) -> dict[str, Any]:
    way = row.verdict.in_the_way
    return {
        "id": row.stage.pk,
        "stage": row.stage.name,
        "start": row.dates.start.isoformat(),
        "start_is_guess": row.dates.is_guess,
        "late": row.dates.late,
        "readiness": row.verdict.word,
        "chance_ready": round(row.verdict.chance_ready, 6),
        "short_of": row.verdict.short_of,
        "in_the_way": _line(found, way) if way else None,
        "items": [_line(found, line) for line in row.lines],
    }


def _line(found: Readiness, line: Line) -> dict[str, Any]:
    item = found.items.get(line.item_id)
    return {
        "kind": line.kind,
        "item": line.item_id or None,
        "callout": item.callout if item else "",
        "words": words_of(found, line),
        "on_hand": line.on_hand,
        "due": line.due,
        "need": line.need,
        "need_through": line.through,
        "expected_use": round(line.expected_use, 2),
        "use_95": line.use_95,
        "chance_short": round(line.chance_short, 6),
        "short": line.short,
        "certainly_short": line.certainly_short,
        "to_order": line.to_order,
        "ordered_late": line.late,
        "days_late": line.days_late,
        "order_by": line.order_by.isoformat(),
        "lead_days": line.lead.days,
        "lead_is_guess": line.lead.is_guess,
        **line.details(),
    }


def words_of(found: Readiness, line: Line) -> str:
    """What a line is about, in plain words."""
    item = found.items.get(line.item_id)
    return line.words(item.words if item else f"item {line.item_id}")


def callout_of(found: Readiness, line: Line) -> str:
    """The callout a line goes by; tools go by their size."""
    item = found.items.get(line.item_id)
    return item.callout if item and isinstance(line, ItemLine) else ""


def verdict_words(found: Readiness, row: StageReadiness) -> str:
    """'ready', 'ready but for ...', 'short of 3: ...'."""
    way, verdict = row.verdict.in_the_way, row.verdict
    if verdict.word in (READY, OVER) or way is None:
        return "ready"
    guess = " (lead time a guess)" if way.lead.is_guess else ""
    callout = callout_of(found, way)
    called = f" ({callout})" if callout else ""
    order = (
        f"order {way.to_order:,} now, the day was {days.said(way.order_by)}{guess}"
        if way.order_by < found.today
        else f"order {way.to_order:,} by {days.said(way.order_by)}{guess}"
    )
    to_do = [each for each in (way.on_order, order if way.to_order else "") if each]
    what = f"{words_of(found, way)}{called}: {'; '.join(to_do) or way.why_short}"
    if verdict.word == READY_BUT_FOR:
        return f"ready but for {what}"
    return f"short of {verdict.short_of}, first {what}"


def in_words(found: Readiness) -> list[str]:
    """A line a stage."""
    if not found.stages:
        return ["There is no open stage: import a plan first."]
    rows = []
    for row in found.stages:
        guess = " (a guess)" if row.dates.is_guess else ""
        late = ", late: give it a new date" if row.dates.late else ""
        rows.append(
            f"{row.stage.name}, from {days.said(row.dates.start)}{guess}{late}: "
            f"{verdict_words(found, row)}"
        )
    rows += [
        f"{'Count' if row.counts else 'Look into'} bin {row.bin.number} "
        f"({row.bin.item.title}: {row.balance}, give or take {row.doubt:.0f}): "
        f"{row.stage} depends on it."
        for row in recounts(found)
    ]
    return [*rows, "", AIRWORTHINESS]
