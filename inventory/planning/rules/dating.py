"""When stages start: dated ones on their day, the others by a stated pace."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta


@dataclass(frozen=True)
class StageFacts:
    """What dating needs to know of a stage, in the plan's order.

    `work_days` is what is left of it at the shop's own pace, where that is known.
    """

    pk: int
    planned_start: date | None
    started_on: date | None
    finished: bool
    skipped: bool
    work_days: int | None = None


@dataclass(frozen=True)
class Dated:
    """A stage with its dates. `is_guess`: by pace. `late`: its day went by.

    `give_or_take` is how many days a guessed start may be off either way.
    """

    pk: int
    start: date
    end: date
    is_guess: bool
    late: bool
    over: bool
    give_or_take: int = 0


# Hours run 1.5 to 2 times the plan (common practice): a guessed start may be off by so
# much of the days until it.
SPREAD = 0.3


def date_stages(
    stages: Sequence[StageFacts], today: date, pace_days: int, away_days: int = 0
) -> list[Dated]:
    """Dates for every stage.

    An undated stage follows its predecessor at the shop's pace, or for `pace_days`
    where that is not known; one whose day went by without a start is late and counts
    from today, or from when the builder is back. A finished or skipped one is over.
    """
    found: list[Dated] = []
    back = follows = today + timedelta(days=away_days)
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
            start = max(back, follows)
        end = start + timedelta(days=stage.work_days or pace_days)
        guess = stage.planned_start is None and stage.started_on is None
        spread = round(SPREAD * max(0, (start - today).days)) if guess else 0
        found.append(Dated(stage.pk, start, end, guess, late, over, spread))
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
        ended.append(replace(stage, end=end))
    return ended


def shift(planned: date | None, days: int) -> date | None:
    """A planned day moved; an undated stage stays undated."""
    return planned + timedelta(days=days) if planned else None
