"""How far each bin may be off: the one figure that every page shows of it."""

from collections.abc import Collection
from itertools import chain

from inventory.catalog.queries import look_alikes_of
from inventory.forecasting.rules.doubts import (
    Beside,
    DoubtfulBin,
    doubtful,
    on_hand,
)
from inventory.forecasting.rules.readiness import OnHand
from inventory.ledger.queries.counts import count_facts, pulled
from inventory.ledger.rules import CountRecord


def doubtful_bins(items: Collection[int], counts: CountRecord) -> list[DoubtfulBin]:
    """The bins of some items, in the order of their making."""
    alike = look_alikes_of(items)
    beside = Beside(alike, pulled({*chain.from_iterable(alike.values())}))
    return doubtful(count_facts(items), beside, counts)


def stock(items: Collection[int], counts: CountRecord) -> dict[int, OnHand]:
    """Units on hand of some items, with the doubt of their bins together."""
    return on_hand(doubtful_bins(items, counts), items)
