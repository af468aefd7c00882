"""What the shop's whole record teaches: each class its spoilage, the shop its bursts."""

from collections import Counter, defaultdict, deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from inventory.forecasting.rules.bursts import Bursts
from inventory.forecasting.rules.pooling import Pooled, by_person, pooled
from inventory.forecasting.rules.record import Closed, split
from inventory.forecasting.rules.spoilage import Beta
from inventory.forecasting.rules.use import Belief

# Beliefs are told apart to so many places: closer ones give the same pieces.
_PLACES = 3
# The hand at work is judged by so many of the last rows: a choice.
_LAST_ROWS = 10


@dataclass(frozen=True)
class ClosedRow:
    """One class in one assembly, in the order in which the work was closed.

    `by` is whose hand it was, where that is known.
    """

    name: str
    good: int
    bad: int
    by: int | None = None


@dataclass(frozen=True)
class Learned:
    """The classes' beliefs, the shop's bursts, and the bare record behind them.

    `people` is the record by class and person, `hands` what is believed of those who have
    enough of it; `hand` is whoever did most of the last work, and is reckoned with.
    """

    classes: Pooled
    bursts: Bursts
    record: Mapping[str, Beta]
    people: Mapping[str, Mapping[int, Beta]]
    hands: Mapping[str, Mapping[int, Beta]]
    hand: int | None

    def of(self, name: str, *, bursty: bool = True) -> Belief:
        """A class's belief, of the hand at work; what is not driven has no bursts."""
        known = self.classes.of(name)
        if self.hand is not None:
            known = self.hands.get(name, {}).get(self.hand, known)
        return Belief(
            round(known.good, _PLACES),
            round(known.bad, _PLACES),
            self.bursts if bursty else None,
        )


def learned(rows: Iterable[ClosedRow], guess: Beta | None = None) -> Learned:
    """Beliefs from a record, oldest first.

    Every row is judged by what was believed before it: what exceeds ordinary spoilage
    is a burst. Bursts are a matter of the builder's sessions and are learned over all
    classes; ordinary spoilage by class, each leaning on the others.
    """
    before: dict[str, Belief] = defaultdict(Belief)
    record: dict[str, Beta] = defaultdict(lambda: Beta(0.0, 0.0))
    people: dict[str, dict[int, Beta]] = defaultdict(dict)
    last: deque[ClosedRow] = deque(maxlen=_LAST_ROWS)
    bursts = Bursts()
    for row in rows:
        known = before[row.name]
        part = split(Closed(row.good, row.bad), Belief(known.good, known.bad, bursts))
        sizes = [part.burst] if part.burst else []
        bursts = bursts.after(part.good, sizes)
        record[row.name] = record[row.name].seen(part.good, part.ordinary)
        if row.by is not None:
            own = people[row.name].get(row.by, Beta(0.0, 0.0))
            people[row.name][row.by] = own.seen(part.good, part.ordinary)
            last.append(row)
        before[row.name] = Belief(
            known.good + part.good, known.bad + part.ordinary, None
        )
    classes = pooled(dict(record), guess or Beta())
    hands = {name: by_person(rows, classes.population) for name, rows in people.items()}
    return Learned(
        classes, bursts, dict(record), dict(people), hands, _hand_at_work(last)
    )


def _hand_at_work(last: Iterable[ClosedRow]) -> int | None:
    """Who set most pieces of the last rows; None where nobody is known."""
    pieces: Counter[int] = Counter()
    for row in last:
        pieces[row.by or 0] += row.good + row.bad
    return pieces.most_common(1)[0][0] if pieces else None
