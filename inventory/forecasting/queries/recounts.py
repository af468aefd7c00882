"""The shortest list of bins whose recount could change what is decided."""

from dataclasses import dataclass

from inventory.forecasting.queries.doubts import doubtful_bins
from inventory.forecasting.queries.readiness import Readiness
from inventory.forecasting.rules.lines import ItemLine
from inventory.forecasting.rules.stock import shortest_list
from inventory.ledger.queries import Bin, bins_of
from inventory.ledger.rules import CountRecord

# What a recount must spare to be asked for, in chances of a stopped stage: a choice.
LEAST_WORTH = 0.0005


@dataclass(frozen=True)
class Recount:
    """A bin to count again: how far it may be off, and the stage that hangs on it."""

    bin: Bin
    balance: int
    doubt: float
    stage: str
    worth: float


def recounts(found: Readiness) -> list[Recount]:
    """The bins to count, the most telling first; of an item the most doubtful one."""
    worth: dict[int, tuple[float, str]] = {}
    for row in found.stages:
        for line in row.lines:
            best = worth.get(line.item_id, (LEAST_WORTH, ""))
            if isinstance(line, ItemLine) and line.worth_counting > best[0]:
                worth[line.item_id] = (line.worth_counting, row.stage.name)
    ranked = sorted(worth.items(), key=lambda pair: -pair[1][0])
    ranked = ranked[: shortest_list([each[0] for _item, each in ranked])]
    doubtful = _most_doubtful({item for item, _worth in ranked}, found.counts)
    return [
        Recount(*doubtful[item], stage, spared)
        for item, (spared, stage) in ranked
        if item in doubtful
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
