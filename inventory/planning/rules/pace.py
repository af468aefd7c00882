"""The shop's own pace: pieces set a day while it works; a long gap is no pace."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from math import ceil

# Days without a rivet after which the builder was away, and did not work slowly; and
# the sessions from which the record speaks (choices, no source).
AWAY_AFTER, ENOUGH_SESSIONS = 28, 8
_WEEK = 7


@dataclass(frozen=True)
class Pace:
    """Pieces a day, gaps left out, from so many sessions; none until enough of them."""

    pieces_a_day: float
    sessions: int

    @property
    def is_known(self) -> bool:
        return self.sessions >= ENOUGH_SESSIONS and self.pieces_a_day > 0

    def days_for(self, pieces: int) -> int | None:
        """Days to set so many pieces, at least one; None while the pace is unknown."""
        return max(1, ceil(pieces / self.pieces_a_day)) if self.is_known else None


def pace_of(set_on: Mapping[date, int]) -> Pace:
    """The pace of a record of pieces set by day.

    A day counts up to the next session, but a gap of over AWAY_AFTER days counts as
    one week: after two years away the pace is what it was.
    """
    days = sorted(day for day, pieces in set_on.items() if pieces > 0)
    worked = 0
    for day, following in pairwise(days):
        gap = (following - day).days
        worked += gap if gap <= AWAY_AFTER else _WEEK
    total = sum(max(0, pieces) for pieces in set_on.values())
    return Pace(total / (worked + 1) if days else 0.0, len(days))
