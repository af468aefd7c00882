"""When stages start: dated ones on their day, the others by a stated pace."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True)
class StageFacts:
    """What dating needs to know of a stage, in the plan's order."""

    pk: int
    planned_start: date | None
    started_on: date | None
    finished: bool
    skipped: bool


@dataclass(frozen=True)
class Dated:
    """A stage with its dates. `is_guess`: by pace. `late`: its day went by."""

    pk: int
    start: date
    end: date
    is_guess: bool
    late: bool
    over: bool


def date_stages(
    stages: Sequence[StageFacts], today: date, pace_days: int
) -> list[Dated]:
    """Dates for every stage.

    An undated stage follows its predecessor at the pace; one whose day went by
    without a start is late and counts from today. A finished or skipped one is over.
    """
    found: list[Dated] = []
    follows = today
    for stage in stages:
        over = stage.finished or stage.skipped
        late = bool(
            stage.planned_start
            and stage.planned_start < today
            and not stage.started_on
            and not over
        )
        start = stage.started_on or stage.planned_start or follows
        if late:
            start = max(today, follows)
        end = start + timedelta(days=pace_days)
        guess = stage.planned_start is None and stage.started_on is None
        found.append(Dated(stage.pk, start, end, guess, late, over))
        if not over:
            follows = max(follows, end)
    return _ended_by_the_next(found)


def _ended_by_the_next(stages: list[Dated]) -> list[Dated]:
    """A stage ends when the next open one starts, if that day is known."""
    ended = []
    for at, stage in enumerate(stages):
        following = next(
            (later.start for later in stages[at + 1 :] if not later.over), stage.end
        )
        end = following if following > stage.start else stage.end
        ended.append(
            Dated(stage.pk, stage.start, end, stage.is_guess, stage.late, stage.over)
        )
    return ended


def shift(planned: date | None, days: int) -> date | None:
    """A planned day moved; an undated stage stays undated."""
    return planned + timedelta(days=days) if planned else None
