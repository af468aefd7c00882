"""May a stage start, and if not, which one item is in the way and by when to order."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from inventory.forecasting.rules.spoilage import (
    Beta,
    chance_enough,
    expected_spoiled,
    spoiled_at,
)

READY, READY_BUT_FOR, SHORT_OF, OVER = "ready", "ready_but_for", "short_of", "over"
USE_SHARE = 0.95


@dataclass(frozen=True)
class Due:
    """Pieces of an item that an order still owes, and when they are expected."""

    item_id: int
    pieces: int
    on: date


@dataclass(frozen=True)
class Lead:
    """Days from order to bench, and whether that is a guess."""

    days: int
    is_guess: bool


@dataclass(frozen=True)
class StageAsk:
    """A stage as the forecast sees it: when it starts, what it still asks."""

    pk: int
    start: date
    needs: Mapping[int, int]


@dataclass(frozen=True)
class Line:
    """One item in one stage.

    `through` is what is still asked up to and with this stage; `use_95` is what 19 in
    20 builders would use at most in this stage alone; `chance_short` is the chance
    that the item runs out by the stage's end.
    """

    kind: str
    item_id: int
    need: int
    through: int
    on_hand: int
    due: int
    expected_use: float
    use_95: int
    chance_short: float
    certainly_short: bool
    order_by: date
    lead: Lead
    to_order: int = 0
    short: bool = False
    note: str = ""
    size: str = ""


def lines_of_items(
    stages: Sequence[StageAsk],
    stock: Mapping[int, int],
    due: Sequence[Due],
    beliefs: Mapping[int, Beta],
    leads: Mapping[int, Lead],
    confidence: float,
) -> dict[int, list[Line]]:
    """Lines by stage, in the plan's order; earlier stages take first."""
    through: dict[int, int] = {}
    found: dict[int, list[Line]] = {}
    for stage in stages:
        share = (1 - confidence) / max(1, len(stage.needs))
        lines = []
        for item, need in stage.needs.items():
            through[item] = through.get(item, 0) + need
            coming = sum(
                d.pieces for d in due if d.item_id == item and d.on <= stage.start
            )
            here = stock.get(item, 0)
            line = _line(item, need, through[item], here, coming, beliefs[item])
            wanted = through[item] + spoiled_at(1 - share, through[item], beliefs[item])
            lines.append(
                replace(
                    line,
                    order_by=stage.start - timedelta(days=leads[item].days),
                    lead=leads[item],
                    short=line.chance_short > share,
                    to_order=max(0, wanted - here - coming),
                )
            )
        found[stage.pk] = lines
    return found


def _line(
    item: int, need: int, through: int, here: int, coming: int, belief: Beta
) -> Line:
    spare = here + coming - through
    return Line(
        kind="item",
        item_id=item,
        need=need,
        through=through,
        on_hand=here,
        due=coming,
        expected_use=need + expected_spoiled(need, belief),
        use_95=need + spoiled_at(USE_SHARE, need, belief),
        chance_short=0.0 if need == 0 else 1 - chance_enough(through, spare, belief),
        certainly_short=need > 0 and spare < 0,
        order_by=date.max,
        lead=Lead(0, True),
    )


@dataclass(frozen=True)
class Verdict:
    """A stage's readiness, with the one thing in the way."""

    word: str
    chance_ready: float
    in_the_way: Line | None
    short_of: int


def verdict(lines: Sequence[Line], confidence: float) -> Verdict:
    """Ready when the chance that no item runs short is at least the confidence.

    The items' chances are multiplied, which is never too hopeful: items of one class
    run short together more often than apart. Pools and drills count when too few.
    """
    chance = 1.0
    items = [line for line in lines if line.kind == "item"]
    for line in items:
        chance *= 1 - line.chance_short
    short = [line for line in lines if line.short]
    if not short and chance < confidence:
        short = [max(items, key=lambda line: line.chance_short)]
    if not short:
        return Verdict(READY, chance, None, 0)
    first = min(short, key=lambda line: (line.order_by, -line.chance_short))
    worst = max(short, key=lambda line: (line.certainly_short, line.chance_short))
    way = worst if worst.certainly_short else first
    word = READY_BUT_FOR if len(short) == 1 else SHORT_OF
    return Verdict(word, chance, way, len(short))
