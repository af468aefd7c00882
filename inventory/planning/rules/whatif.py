"""What if: weeks away, two stages changed about, more hands; the plan is untouched."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from inventory.errors import Refused
from inventory.planning.rules.dating import StageFacts

_MOST_AWAY, _FASTEST = 1000, 5.0


@dataclass(frozen=True)
class WhatIf:
    """Days away from now on; two stages to swap, by key; times as fast as now."""

    away_days: int = 0
    swap: tuple[int, int] | None = None
    times_as_fast: float = 1.0

    def __post_init__(self) -> None:
        if not (
            0 <= self.away_days <= _MOST_AWAY
            and 1 / _FASTEST <= self.times_as_fast <= _FASTEST
        ):
            expected = f"0 to {_MOST_AWAY} days away, 0.2 to 5 times as fast"
            raise Refused(
                "planning.what_if",
                f"Expected {expected}; got {self.away_days} days and "
                f"{self.times_as_fast}.",
                {"expected": expected, "got": str(self)},
            )

    @property
    def changes_nothing(self) -> bool:
        return self == WhatIf()

    @property
    def words(self) -> str:
        """What is supposed, for the page: '42 days away, 1.3 times as fast'."""
        said = [f"{self.away_days} days away"] if self.away_days else []
        said += ["two stages swapped"] if self.swap else []
        if self.times_as_fast != 1.0:
            said.append(f"{self.times_as_fast:g} times as fast")
        return ", ".join(said)


def supposed(
    stages: Sequence[StageFacts], what: WhatIf, today: date
) -> list[StageFacts]:
    """The stages as they would stand. Errors: `planning.what_if` for an unknown one."""
    rows = _swapped(list(stages), what.swap) if what.swap else list(stages)
    return [_moved(row, what, today) for row in rows]


def _swapped(rows: list[StageFacts], swap: tuple[int, int]) -> list[StageFacts]:
    """Each takes the other's place in the order, and its date."""
    at = {row.pk: place for place, row in enumerate(rows)}
    if not set(swap) <= at.keys() or swap[0] == swap[1]:
        raise Refused(
            "planning.what_if",
            "Expected two different stages of the plan to swap.",
            {"expected": "two stages", "got": str(swap)},
        )
    one, other = (rows[at[pk]] for pk in swap)
    rows[at[one.pk]] = replace(other, planned_start=one.planned_start)
    rows[at[other.pk]] = replace(one, planned_start=other.planned_start)
    return rows


def _moved(row: StageFacts, what: WhatIf, today: date) -> StageFacts:
    """Later by the days away, nearer by the greater pace; work begun stays."""
    days = row.work_days
    if days is not None:
        days = max(1, round(days / what.times_as_fast))
    start = row.planned_start
    if start is None or row.started_on or start <= today:
        return replace(row, work_days=days)
    ahead = round((start - today).days / what.times_as_fast) + what.away_days
    return replace(row, work_days=days, planned_start=today + timedelta(days=ahead))
