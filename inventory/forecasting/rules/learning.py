"""What the shop's whole record teaches: each class its spoilage, the shop its bursts."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from inventory.forecasting.rules.bursts import Bursts
from inventory.forecasting.rules.pooling import Pooled, pooled
from inventory.forecasting.rules.record import Closed, split
from inventory.forecasting.rules.spoilage import Beta
from inventory.forecasting.rules.use import Belief

# Beliefs are told apart to so many places: closer ones give the same pieces.
_PLACES = 3


@dataclass(frozen=True)
class Row:
    """One class in one assembly, in the order in which the work was closed."""

    name: str
    good: int
    bad: int


@dataclass(frozen=True)
class Learned:
    """The classes' beliefs, the shop's bursts, and the bare record behind them."""

    classes: Pooled
    bursts: Bursts
    record: Mapping[str, Beta]

    def of(self, name: str, *, bursty: bool = True) -> Belief:
        """A class's belief; what is not driven has no bursts."""
        known = self.classes.of(name)
        return Belief(
            round(known.good, _PLACES),
            round(known.bad, _PLACES),
            self.bursts if bursty else None,
        )


def learned(rows: Iterable[Row], guess: Beta | None = None) -> Learned:
    """Beliefs from a record, oldest first.

    Every row is judged by what was believed before it: what exceeds ordinary spoilage
    is a burst. Bursts are a matter of the builder's sessions and are learned over all
    classes; ordinary spoilage by class, each leaning on the others.
    """
    before: dict[str, Belief] = defaultdict(Belief)
    record: dict[str, Beta] = defaultdict(lambda: Beta(0.0, 0.0))
    bursts = Bursts()
    for row in rows:
        known = before[row.name]
        part = split(Closed(row.good, row.bad), Belief(known.good, known.bad, bursts))
        sizes = [part.burst] if part.burst else []
        bursts = bursts.after(part.good, sizes)
        record[row.name] = record[row.name].seen(part.good, part.ordinary)
        before[row.name] = Belief(
            known.good + part.good, known.bad + part.ordinary, None
        )
    return Learned(pooled(dict(record), guess or Beta()), bursts, dict(record))
