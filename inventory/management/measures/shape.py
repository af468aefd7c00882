"""What a measure is and what it finds, and how a rate is taken."""

import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from statistics import median

PASSES = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredRow:
    """One figure, and how it stands to a reference of the same run.

    `ratio` is the figure over the reference's own in the same unit; `against` says
    what the reference is. `target` is in the figure's unit, None where there is none;
    `how` says what was done, warm-up included.
    """

    name: str
    figure: float
    unit: str
    ratio: float
    against: str
    target: float | None
    how: str

    @property
    def met(self) -> bool | None:
        return None if self.target is None else self.figure >= self.target

    def as_data(self) -> dict[str, object]:
        """The row for JSON."""
        return {**asdict(self), "met": self.met}

    def in_words(self) -> str:
        """The row in two lines: figure, ratio and target; then how."""
        said = (
            f"{self.name}: {_figure(self.figure)} {self.unit}, {self.ratio:.3g} times "
            f"{self.against}"
        )
        if self.target is not None:
            verdict = "met" if self.met else "not met"
            said += f"; target {_figure(self.target)} {self.unit}: {verdict}"
        return f"{said}\n  {self.how}"


class AtMost(MeasuredRow):
    """A row whose target is not to be gone over: seconds, shares."""

    __slots__ = ()

    @property
    def met(self) -> bool | None:
        return None if self.target is None else self.figure <= self.target


def _figure(value: float) -> str:
    """Whole from a hundred on, else three digits."""
    return f"{value:,.0f}" if value >= 100 else f"{value:.3g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A measure by name: what it tells, what takes it, and what that may be given."""

    name: str
    tells: str
    take: Callable[..., tuple[MeasuredRow, ...]]
    options: tuple[str, ...] = ()


def rates(count: int, *works: Callable[[], object]) -> list[float]:
    """Times a second each work does its `count` things: the median of PASSES passes.

    Every work is done once before, unmeasured; then they take turns, so that a busy
    moment falls on all of them.
    """
    for work in works:
        work()
    seconds: list[list[float]] = [[] for _ in works]
    for _ in range(PASSES):
        for work, taken in zip(works, seconds, strict=True):
            started = time.perf_counter()
            work()
            taken.append(time.perf_counter() - started)
    return [count / median(taken) for taken in seconds]
