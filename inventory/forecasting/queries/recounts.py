"""The few bins that a look or a count could change what is decided of."""

from dataclasses import dataclass

from inventory.forecasting.queries.doubts import doubtful_bins
from inventory.forecasting.queries.readiness import Readiness
from inventory.ledger.queries import Bin, bins_of
from inventory.ledger.rules import CountRecord


@dataclass(frozen=True)
class Recount:
    """A bin to look into, or to count again where `counts`: how far it may be off, and
    the stage that hangs on it."""

    bin: Bin
    balance: int
    doubt: float
    stage: str
    worth: float
    counts: bool


def recounts(found: Readiness) -> list[Recount]:
    """The bins to look into, the most telling first; of an item the most doubtful one."""
    names = {row.stage.pk: row.stage.name for row in found.stages}
    looks = found.decided.looks
    doubtful = _most_doubtful({look.item for look in looks}, found.counts)
    return [
        Recount(*doubtful[look.item], names[look.stage], look.worth, look.counts)
        for look in looks
        if look.item in doubtful
    ]


def _most_doubtful(
    items: set[int], counts: CountRecord
) -> dict[int, tuple[Bin, int, float]]:
    bins = {bin.pk: bin for bin in bins_of(items)}
    found: dict[int, tuple[Bin, int, float]] = {}
    for row in doubtful_bins(items, counts):
        item = row.known.item_id
        if item not in found or row.doubt > found[item][2]:
            found[item] = (bins[row.known.bin_id], row.known.balance, row.doubt)
    return found
