"""May a stage start, and if not, which one item is in the way and by when to order."""

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import NamedTuple

from inventory.forecasting.rules.lines import ItemLine, Line
from inventory.forecasting.rules.stock import (
    Arrival,
    Stock,
    chance_here,
    deficit,
    worth_of_counting,
    worth_of_looking,
)
from inventory.forecasting.rules.use import Belief, Use
from inventory.ordering.rules.leads import Due, Lead, late_for

READY, READY_BUT_FOR, SHORT_OF, OVER = "ready", "ready_but_for", "short_of", "over"
USE_SHARE = 0.95
# A chance as near to certain as this leaves a recount nothing to change. What a recount
# must spare to be asked for, in chances of a stopped stage: a choice.
_CERTAIN, LEAST_WORTH = 1e-4, 0.0005


class OnHand(NamedTuple):
    """Units by the record, their standard deviation, and how many jobs of a look-alike
    came out of them unknown to the record, on average."""

    units: int
    doubt: float = 0.0
    jobs_gone: float = 0.0


@dataclass(frozen=True)
class StageAsk:
    """A stage as the forecast sees it: its days, what it still asks.

    `give_or_take` is how many days a guessed start may be off either way.
    """

    pk: int
    start: date
    end: date
    needs: Mapping[int, int]
    give_or_take: int = 0


@dataclass(frozen=True)
class Supplies:
    """What there is of every item, what is due, what is believed, how long orders take.

    `at_once` is what the largest open assembly asks of an item, where that is known.
    """

    stock: Mapping[int, OnHand]
    due: Sequence[Due]
    beliefs: Mapping[int, Belief]
    leads: Mapping[int, Lead]
    at_once: Mapping[int, int] = field(default_factory=dict)


def lines_of_items(
    stages: Sequence[StageAsk],
    supplies: Supplies,
    confidence: float,
    only: Container[int] | None = None,
) -> dict[int, list[ItemLine]]:
    """Lines by stage, in the plan's order; earlier stages take first.

    With `only`, the lines of these items alone: an item's lines need no other's.
    """
    through: dict[int, int] = {}
    found: dict[int, list[ItemLine]] = {}
    for stage in stages:
        share = (1 - confidence) / max(1, len(stage.needs))
        found[stage.pk] = []
        for item, need in stage.needs.items():
            if only is not None and item not in only:
                continue
            through[item] = through.get(item, 0) + need
            ask = _Ask(item, need, through[item], stage, share)
            found[stage.pk].append(_line(ask, supplies))
    return found


@dataclass(frozen=True)
class _Ask:
    """What one stage asks of one item, and the chance to run out it may take up."""

    item: int
    need: int
    through: int
    stage: StageAsk
    share: float


def _line(ask: _Ask, supplies: Supplies) -> ItemLine:
    belief, lead = supplies.beliefs[ask.item], supplies.leads[ask.item]
    held = supplies.stock.get(ask.item, OnHand(0))
    due = [each for each in supplies.due if each.item_id == ask.item]
    most = supplies.at_once.get(ask.item)
    stock = stock_by(held, due, ask.stage)
    use, here = Use(ask.need, belief, most), Use(ask.through, belief, most)
    lacking = deficit(here, stock)
    chance = lacking.chance_short if ask.need else 0.0
    late, days_late = late_for(due, ask.stage.start)
    ordered = sum(each.pieces for each in due)
    coming = ordered - late
    # That it may come late is no reason to order it twice: the second may be late too.
    beyond = lacking
    if ordered:
        beyond = deficit(here, replace(stock, arrivals=(Arrival(ordered, 1.0),)))
    return ItemLine(
        item_id=ask.item,
        need=ask.need,
        through=ask.through,
        on_hand=held.units,
        due=coming,
        expected_use=ask.need + use.expected,
        use_95=ask.need + use.at(USE_SHARE),
        chance_short=chance,
        certainly_short=ask.need > 0 and held.units + coming < ask.through,
        order_by=ask.stage.start - timedelta(days=lead.days),
        lead=lead,
        to_order=beyond.to_buy(ask.share),
        short=chance > ask.share,
        late=late,
        days_late=days_late,
        doubt=held.doubt,
        run_out=_run_out(ask, here, held.units + coming),
        **_worth(ask, here, replace(stock, jobs_gone=round(held.jobs_gone, 3))),
    )


def stock_by(held: OnHand, due: Sequence[Due], stage: StageAsk) -> Stock:
    """What will be here when a stage starts, as a distribution."""
    chances = [
        (
            each.pieces,
            chance_here(each.on, stage.start, each.late, stage.give_or_take),
        )
        for each in due
    ]
    return Stock(
        held.units,
        round(held.doubt, 1),
        tuple(Arrival(pieces, chance) for pieces, chance in chances if chance > 0),
    )


def _worth(ask: _Ask, use: Use, stock: Stock) -> dict[str, float]:
    """What to count and what to look is worth: nothing where no decision hangs on it.

    That a job came out of the wrong tin is looked for here, and not ordered for.
    """
    if not _CERTAIN < deficit(use, stock).chance_short < 1 - _CERTAIN:
        return {}
    counting = worth_of_counting(use, stock, ask.share)
    if counting <= LEAST_WORTH:
        return {"worth_counting": counting}
    looking = worth_of_looking(use, stock, ask.share)
    return {"worth_counting": counting, "worth_looking": looking}


def _run_out(ask: _Ask, through: Use, available: int) -> date | None:
    """The day in this stage on which the expected use passes what is there."""
    by_end = ask.through + through.expected
    used = by_end - ask.need * by_end / ask.through if ask.through else 0.0
    if not ask.need or not used <= available < by_end:
        return None
    part = (available - used) / (by_end - used)
    return ask.stage.start + (ask.stage.end - ask.stage.start) * part


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
    items = [line for line in lines if isinstance(line, ItemLine)]
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
