"""What is decided of a day's facts: each stage's word, what to order, what to look into.

One function decides for the pages, the worker, the order plan and the rehearsal alike.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from inventory.forecasting.rules.lines import ItemLine, Line
from inventory.forecasting.rules.readiness import (
    LEAST_WORTH,
    StageAsk,
    Supplies,
    Verdict,
    lines_of_items,
    verdict,
)
from inventory.forecasting.rules.stock import shortest_list

# Nobody looks into more bins than this before the work. Where a look brings so much of
# what a count would, it is enough: it takes a tenth of the time. Both are choices.
MOST_LOOKS, ENOUGH = 5, 0.5


@dataclass(frozen=True)
class Facts:
    """What is known on a day. `tooling` are the lines of tools, by stage.

    With `only`, the lines of these items alone are reckoned, and no verdict means anything.
    """

    stages: Sequence[StageAsk]
    supplies: Supplies
    confidence: float
    tooling: Mapping[int, Sequence[Line]] = field(default_factory=dict)
    only: Collection[int] | None = None


@dataclass(frozen=True)
class StageWord:
    """A stage with what it asks, the worst line first, and the verdict on it."""

    ask: StageAsk
    lines: Sequence[Line]
    verdict: Verdict


@dataclass(frozen=True)
class Wish:
    """Pieces of an item to order for a stage, all earlier stages' wishes included."""

    item: int
    stage: StageAsk
    pieces: int


@dataclass(frozen=True)
class Look:
    """An item whose bin is to be looked into, or `counts`: counted, where a look is not
    enough; what that spares, and which stage it may stop."""

    item: int
    stage: int
    worth: float
    counts: bool


@dataclass(frozen=True)
class Decided:
    """What was decided. `order_by` is the day the first order must leave, if any must."""

    stages: Sequence[StageWord]
    wishes: Sequence[Wish]
    looks: Sequence[Look]
    order_by: date | None


def decide(facts: Facts) -> Decided:
    """Every open stage's word, the wishes in the stages' order, the few looks."""
    found = lines_of_items(facts.stages, facts.supplies, facts.confidence, facts.only)
    stages = []
    for ask in facts.stages:
        lines = [*found[ask.pk], *facts.tooling.get(ask.pk, ())]
        ordered = sorted(lines, key=lambda line: (not line.short, -line.chance_short))
        stages.append(StageWord(ask, ordered, verdict(lines, facts.confidence)))
    wishes = [
        Wish(line.item_id, row.ask, line.to_order)
        for row in stages
        for line in row.lines
        if line.item_id and line.to_order
    ]
    return Decided(stages, wishes, _looks(stages), _order_by(stages))


def _looks(stages: Sequence[StageWord]) -> list[Look]:
    """The looks and counts that may change what is decided, the most telling first."""
    best: dict[int, Look] = {}
    for row in stages:
        for line in row.lines:
            if not isinstance(line, ItemLine):
                continue
            known = best.get(line.item_id)
            worth, enough = line.worth_counting, ENOUGH * line.worth_counting
            if worth > (known.worth if known else LEAST_WORTH):
                counts = line.worth_looking < enough
                best[line.item_id] = Look(line.item_id, row.ask.pk, worth, counts)
    ranked = sorted(best.values(), key=lambda look: -look.worth)
    few = shortest_list([look.worth for look in ranked])
    return ranked[: min(few, MOST_LOOKS)]


def _order_by(stages: Sequence[StageWord]) -> date | None:
    """The earliest day on which something that may run short must be ordered."""
    return min(
        (
            line.order_by
            for row in stages
            for line in row.lines
            if line.short and line.to_order
        ),
        default=None,
    )
