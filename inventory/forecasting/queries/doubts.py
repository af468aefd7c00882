"""How far each bin may be off: the one figure that every page shows of it."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, replace
from itertools import chain
from math import sqrt

from inventory.catalog.queries import look_alikes_of
from inventory.forecasting.rules.readiness import OnHand
from inventory.ledger.queries.counts import count_facts
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


def doubtful_bins(items: Collection[int], counts: CountRecord) -> list[DoubtfulBin]:
    """The bins of some items, in the order of their making."""
    wanted, alike = set(items), look_alikes_of(items)
    rows = count_facts({*wanted, *chain.from_iterable(alike.values())})
    moved: dict[int, int] = defaultdict(int)
    for facts in rows:
        moved[facts.item_id] += facts.moved
    return [
        DoubtfulBin(
            facts,
            sum(moved[other] // 2 for other in alike[facts.item_id]),
            counts.per_moved(facts.bin_id),
        )
        for facts in rows
        if facts.item_id in wanted
    ]


def stock(items: Collection[int], counts: CountRecord) -> dict[int, OnHand]:
    """Units on hand of some items, with the doubt of their bins together."""
    on_hand: dict[int, int] = defaultdict(int)
    variance: dict[int, float] = defaultdict(float)
    for row in doubtful_bins(items, counts):
        on_hand[row.known.item_id] += row.known.balance
        variance[row.known.item_id] += row.doubt**2
    return {item: OnHand(on_hand[item], sqrt(variance[item])) for item in items}
