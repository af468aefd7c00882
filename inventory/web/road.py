"""The road ahead: every stage on one axis of time, true to scale."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

# What lies before today is cut here; so many labels fit a phone's width.
_BEFORE, _LABELS = timedelta(days=30), 5
_STEPS = (1, 2, 3, 6, 12, 24, 60)


@dataclass(frozen=True)
class Mark:
    """A place on the axis, in per cent of it, and what stands there."""

    at: str
    words: str


@dataclass(frozen=True)
class Axis:
    """Days from `first` to `last`; what lies before or after is drawn at the end."""

    first: date
    last: date
    today: date

    def at(self, day: date) -> str:
        """Where a day stands, in per cent."""
        return f"{self._share(day):.2f}%"

    def wide(self, start: date, end: date) -> str:
        """How long a stretch is, in per cent; never too small to be seen."""
        return f"{max(0.8, self._share(end) - self._share(start)):.2f}%"

    @property
    def now(self) -> str:
        """Where today stands."""
        return self.at(self.today)

    @property
    def months(self) -> Sequence[Mark]:
        """The first days of a few months, evenly: as many as a phone can show."""
        firsts = list(_months(self.first, self.last))
        step = next((n for n in _STEPS if len(firsts) <= n * _LABELS), _STEPS[-1])
        return [Mark(self.at(day), f"{day:%b %Y}") for day in firsts[::step]]

    def _share(self, day: date) -> float:
        inside = min(max(day, self.first), self.last)
        return 100 * (inside - self.first).days / max(1, (self.last - self.first).days)


def _months(first: date, last: date) -> Iterator[date]:
    """The first days of the months between, but for one whose name would be cut off."""
    day = first.replace(day=1)
    end = last - (last - first) / 8
    while day <= end:
        if day >= first:
            yield day
        day = (day + timedelta(days=32)).replace(day=1)


def axis_of(stretches: Iterable[tuple[date, date]], today: date) -> Axis:
    """An axis for these stretches of days, from today or a little before it."""
    rows = list(stretches)
    first = min([today, *(start for start, _end in rows)])
    last = max([today + timedelta(days=1), *(end for _start, end in rows)])
    return Axis(max(first, today - _BEFORE), last, today)
