"""How far each bin may be off: its own statement, what moved since, its look-alikes."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf, sqrt

from inventory.forecasting.rules.readiness import OnHand
from inventory.ledger.rules import JOB, CountFacts, CountRecord, doubt, grown


@dataclass(frozen=True)
class DoubtfulBin:
    """What is known of a bin, and its doubt: the standard deviation in units.

    `beside` is half of what was pulled of its look-alikes since it was stated, which may
    have come from it, `beside_look` the same since the last look that agreed;
    `per_moved` the variance that each piece moved adds; `mixed_up` the share of jobs that
    were driven from the wrong tin.
    """

    known: CountFacts
    beside: int
    per_moved: float
    beside_look: int = 0
    mixed_up: float = 0.0

    @property
    def jobs_gone(self) -> float:
        """How many jobs of its look-alikes came out of it unknown to the record, on
        average, since it was counted, or seen well enough to miss one."""
        beside = self.beside
        if self.known.look is not None and self.known.look.doubt < JOB:
            beside = min(beside, self.beside_look)
        return self.mixed_up * 2 * beside / JOB

    @property
    def doubt(self) -> float:
        """Of the bin's balance: by its statement, or by a look since, if that is surer."""
        return min(self._by_count, self._by_look)

    @property
    def is_seen(self) -> bool:
        """Whether a look tells more than the last count."""
        return self._by_look < self._by_count

    @property
    def moved(self) -> tuple[int, int]:
        """Units moved since the count or look that tells, and of its look-alikes."""
        look = self.known.look
        if look is not None and self.is_seen:
            return look.moved, self.beside_look
        return self.known.moved, self.beside

    @property
    def _by_count(self) -> float:
        moved = self.known.moved + self.beside
        return doubt(replace(self.known, moved=moved), self.per_moved)

    @property
    def _by_look(self) -> float:
        look = self.known.look
        if look is None:
            return inf
        return grown(look.doubt, look.moved + self.beside_look, self.per_moved)


@dataclass(frozen=True)
class Beside:
    """What went on in other bins: each item's look-alikes, and the units pulled so far."""

    alike: Mapping[int, Collection[int]]
    pulled: Mapping[int, int]

    def since(self, item: int, then: int | None, moved: int) -> int:
        """Half of what was pulled of an item's look-alikes since `then` had been.

        Where that was not kept, they are taken to have moved as it did.
        """
        others = self.alike.get(item, ())
        if then is None:
            return moved // 2 if others else 0
        return max(0, sum(self.pulled.get(at, 0) for at in others) - then) // 2


def doubtful(
    rows: Sequence[CountFacts], beside: Beside, counts: CountRecord
) -> list[DoubtfulBin]:
    """How doubtful some bins are."""
    return [
        DoubtfulBin(
            facts,
            beside.since(facts.item_id, facts.beside, facts.moved),
            counts.per_moved(facts.bin_id),
            beside.since(facts.item_id, facts.look.beside, facts.look.moved)
            if facts.look
            else 0,
            counts.mixed_up,
        )
        for facts in rows
    ]


def on_hand(rows: Iterable[DoubtfulBin], items: Iterable[int]) -> dict[int, OnHand]:
    """Units of some items, with the doubt of their bins together.

    A job that came out of the wrong tin came out of one of them.
    """
    units: dict[int, int] = defaultdict(int)
    variance: dict[int, float] = defaultdict(float)
    gone: dict[int, float] = defaultdict(float)
    for row in rows:
        units[row.known.item_id] += row.known.balance
        variance[row.known.item_id] += row.doubt**2
        gone[row.known.item_id] = max(gone[row.known.item_id], row.jobs_gone)
    return {
        item: OnHand(units[item], sqrt(variance[item]), gone[item]) for item in items
    }
