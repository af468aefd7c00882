"""What the record of closed assemblies teaches: ordinary spoilage, and bursts.

The rule, in the order in which the work was closed: more spoiled pieces than the
99.5 % quantile of what was believed the day before is a burst. Its size is what exceeds
the expected, the expected stays ordinary, and the belief then learns both.

Every row is judged by the rows before it, so clean work that follows never turns older
work into a burst: it can only lower the bursts' rate.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.errors import Refused
from inventory.forecasting.rules.spoilage import TIE, Beta, chance_enough
from inventory.forecasting.rules.use import Belief

# A burst is what an ordinary row would not show once in 200 (a choice, no source).
ORDINARY = 0.995


@dataclass(frozen=True)
class Closed:
    """Pieces of one item in one closed assembly: set well, and spoiled."""

    good: int
    bad: int

    def __post_init__(self) -> None:
        if self.good < 0 or self.bad < 0:
            raise Refused(
                "forecasting.record",
                "Expected good and spoiled pieces of 0 or more; "
                f"got {self.good} and {self.bad}.",
                {"expected": "0 or more", "got": f"{self.good}, {self.bad}"},
            )


@dataclass(frozen=True)
class Split:
    """A closed row told apart: pieces spoiled in the ordinary way, and in a burst."""

    good: int
    ordinary: int
    burst: int


def split(row: Closed, believed: Belief) -> Split:
    """Judge one row by what was believed before it."""
    good, bad = believed.good, believed.bad
    fewer = chance_enough(row.good, row.bad - 1, Beta(good, bad))
    if not believed.bursts or row.good == 0 or fewer < ORDINARY - TIE:
        return Split(row.good, row.bad, 0)
    expected = min(row.bad - 1, round(row.good * bad / good))
    return Split(row.good, expected, row.bad - expected)


def learn(records: Iterable[Closed], prior: Belief | None = None) -> Belief:
    """The belief after a record, oldest first."""
    found = prior or Belief()
    for row in records:
        found = _learnt(found, split(row, found))
    return found


def _learnt(found: Belief, part: Split) -> Belief:
    bursts = found.bursts
    if bursts is not None:
        sizes = [part.burst] if part.burst else []
        bursts = bursts.after(part.good, sizes)
    return Belief(found.good + part.good, found.bad + part.ordinary, bursts)
