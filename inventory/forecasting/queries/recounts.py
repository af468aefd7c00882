"""The shortest list of bins whose recount could change what is decided."""

from dataclasses import dataclass

from inventory.forecasting.queries.readiness import Readiness
from inventory.forecasting.rules.lines import ItemLine
from inventory.forecasting.rules.stock import shortest_list
from inventory.ledger.queries import Bin, bins_of
from inventory.ledger.queries.counts import count_facts
from inventory.ledger.rules import doubt

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
    doubtful = _most_doubtful({item for item, _worth in ranked}, found.per_moved)
    return [
        Recount(*doubtful[item], stage, spared)
        for item, (spared, stage) in ranked
        if item in doubtful
    ]


def _most_doubtful(
    items: set[int], per_moved: float
) -> dict[int, tuple[Bin, int, float]]:
    facts = {row.bin_id: row for row in count_facts(items)}
    found: dict[int, tuple[Bin, int, float]] = {}
    for bin in bins_of(items):
        own = doubt(facts[bin.pk], per_moved)
        if bin.item_id not in found or own > found[bin.item_id][2]:
            found[bin.item_id] = (bin, facts[bin.pk].balance, own)
    return found
