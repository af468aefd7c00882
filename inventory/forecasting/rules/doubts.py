"""How far each bin may be off: its own statement, what moved since, its look-alikes."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import sqrt

from inventory.forecasting.rules.readiness import OnHand
from inventory.ledger.rules import CountFacts, CountRecord, doubt


@dataclass(frozen=True)
class DoubtfulBin:
    """What is known of a bin, and its doubt: the standard deviation in units.

    `beside` is half of what moved of its look-alikes, which may have come from it;
    `per_moved` the variance that each piece moved adds.
    """

    known: CountFacts
    beside: int
    per_moved: float

    @property
    def doubt(self) -> float:
        """Of the bin's balance."""
        moved = self.known.moved + self.beside
        return doubt(replace(self.known, moved=moved), self.per_moved)


def doubtful(
    rows: Sequence[CountFacts],
    alike: Mapping[int, Collection[int]],
    counts: CountRecord,
    wanted: Collection[int],
) -> list[DoubtfulBin]:
    """The bins of the wanted items among `rows`, which hold their look-alikes' too."""
    moved: dict[int, int] = defaultdict(int)
    for facts in rows:
        moved[facts.item_id] += facts.moved
    return [
        DoubtfulBin(
            facts,
            sum(moved[other] // 2 for other in alike.get(facts.item_id, ())),
            counts.per_moved(facts.bin_id),
        )
        for facts in rows
        if facts.item_id in wanted
    ]


def on_hand(rows: Iterable[DoubtfulBin], items: Iterable[int]) -> dict[int, OnHand]:
    """Units of some items, with the doubt of their bins together."""
    units: dict[int, int] = defaultdict(int)
    variance: dict[int, float] = defaultdict(float)
    for row in rows:
        units[row.known.item_id] += row.known.balance
        variance[row.known.item_id] += row.doubt**2
    return {item: OnHand(units[item], sqrt(variance[item])) for item in items}
