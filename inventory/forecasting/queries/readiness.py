"""The forecast: readiness of every stage, read from plan, ledger and record."""

from collections import defaultdict
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from itertools import chain

from inventory.catalog.models import Item
from inventory.catalog.queries import look_alikes_of
from inventory.catalog.rules import KINDS
from inventory.forecasting.queries.doubts import stock
from inventory.forecasting.queries.tools import (
    bit_life,
    drill_stock,
    hand_tools_kept,
    hand_tools_wanted,
    holds,
    losing,
    planned_holes,
    pools,
)
from inventory.forecasting.rules import tools
from inventory.forecasting.rules.bitlife import BitLife
from inventory.forecasting.rules.deciding import Decided, Facts, decide
from inventory.forecasting.rules.learning import ClosedRow, Learned, learned
from inventory.forecasting.rules.lines import (
    OF_TOOLS,
    DrillLine,
    Line,
    PoolLine,
    ToolLine,
)
from inventory.forecasting.rules.readiness import StageAsk, Supplies, Verdict
from inventory.forecasting.rules.use import Belief
from inventory.ledger.queries.counts import count_record
from inventory.ledger.rules import CountRecord
from inventory.ordering.queries import due, leads
from inventory.ordering.rules.leads import Lead
from inventory.people.queries import shop
from inventory.planning.models import Build, Stage
from inventory.planning.queries import (
    asked_at_once,
    current_build,
    dated,
    remaining_by_stage,
    stages,
)
from inventory.planning.queries.spoilage import spoilage_record
from inventory.planning.rules.dating import Dated
from inventory.planning.rules.whatif import WhatIf


@dataclass(frozen=True)
class Touched:
    """What some movements touch: items with their look-alikes, and kinds of tools."""

    items: frozenset[int]
    tools: frozenset[str]

    def concerns(self, kind: str, item: int) -> bool:
        """Whether a line of this kind and item is reckoned again."""
        return kind in self.tools if kind in OF_TOOLS else item in self.items


@dataclass(frozen=True)
class StageReadiness:
    """A stage, its dates, what it asks and the verdict on it."""

    stage: Stage
    dates: Dated
    lines: Sequence[Line]
    verdict: Verdict


@dataclass(frozen=True)
class Readiness:
    """The whole build as of a day. `items` are all that its lines name.

    `counts` is what counts taught of how far a bin's record strays; `decided` what is
    to be done.
    """

    build: Build | None
    today: date
    confidence: float
    stages: Sequence[StageReadiness]
    items: Mapping[int, Item]
    bit_life: BitLife
    counts: CountRecord
    decided: Decided


def readiness(
    today: date,
    what: WhatIf | None = None,
    touched: Touched | None = None,
) -> Readiness:
    """Every open stage's readiness.

    `what` supposes other dates. With `touched` only its lines are reckoned, and no
    verdict means anything.
    """
    settings, build = shop(), current_build()
    coming = due(today)
    dates = dated(build, today, settings.pace_days, what)
    open_dates = [row for row in dates if not row.over]
    known, life = _Leads(leads(), Lead(settings.lead_days, True)), bit_life(settings)
    needs = remaining_by_stage(build)
    asks, only = _asks(needs, open_dates, touched)
    counts = count_record()
    supplies = Supplies(
        stock(only, counts),
        coming,
        beliefs(Item.objects.filter(pk__in=only)) if only else {},
        known,
        asked_at_once(),
    )
    arriving = tools.Coming(open_dates, coming, known)
    kinds = OF_TOOLS if touched is None else touched.tools
    tooling = _tool_lines(build, dates, needs, arriving, life, kinds)
    rows = {row.pk: row for row in stages(build)}
    confidence = float(settings.stage_confidence)
    decided = decide(Facts(asks, supplies, confidence, tooling, only))
    found = [
        StageReadiness(rows[day.pk], day, word.lines, word.verdict)
        for day, word in zip(open_dates, decided.stages, strict=True)
    ]
    named = {line.item_id for row in found for line in row.lines}
    items = Item.objects.in_bulk(list(named))
    return Readiness(build, today, confidence, found, items, life, counts, decided)


class _Leads(dict[int, Lead]):
    """Lead times, with the shop's stated guess where none is known."""

    def __init__(self, known: Mapping[int, Lead], default: Lead) -> None:
        super().__init__(known)
        self.default = default

    def __missing__(self, item: int) -> Lead:
        return self.default


def shop_learned() -> Learned:
    """What the whole record says of spoilage: by class, and of bursts."""
    classes = dict(Item.objects.values_list("pk", "spoilage_class"))
    rows = (
        ClosedRow(
            classes[row.item_id] or f"item {row.item_id}", row.good, row.bad, row.by
        )
        for row in spoilage_record()
    )
    return _learned(tuple(rows))


# The record is the same from page to page until somebody closes or scraps something.
_learned = lru_cache(maxsize=4)(learned)


def beliefs(items: Iterable[Item], known: Learned | None = None) -> dict[int, Belief]:
    """What is believed of each item's spoilage; only rivets are lost in bursts."""
    found = known or shop_learned()
    return {
        row.pk: found.of(row.spoilage_class or f"item {row.pk}", bursty=row.sort.driven)
        for row in items
    }


def touched_by(items: Iterable[int]) -> Touched:
    """What must be looked at again after these items moved."""
    moved = set(items)
    beside = set(chain.from_iterable(look_alikes_of(moved).values()))
    kinds = Item.objects.filter(pk__in=moved).values_list("kind", flat=True)
    return Touched(frozenset(moved | beside), frozenset(map(_line_of, kinds)))


def touched_alone(item: int) -> Touched:
    """An item without its look-alikes, whose forecast may be what fails."""
    return replace(touched_by([item]), items=frozenset({item}))


def _line_of(kind: str) -> str:
    """The lines of tools that change when an item of a kind moves.

    Whether a die is wanted hangs on the rivets that are left.
    """
    if KINDS[kind].holding:
        return PoolLine.kind
    return (DrillLine if KINDS[kind].one_at_a_time else ToolLine).kind


def _asks(
    needs: Mapping[int, Mapping[int, int]],
    dates: Sequence[Dated],
    touched: Touched | None,
) -> tuple[list[StageAsk], set[int]]:
    """What the open stages ask, and the items of which that is reckoned."""
    asks = [
        StageAsk(row.pk, row.start, row.end, needs.get(row.pk, {}), row.give_or_take)
        for row in dates
    ]
    only = {i for ask in asks for i in ask.needs}
    return asks, only if touched is None else only & touched.items


def _tool_lines(
    build: Build | None,
    dates: Sequence[Dated],
    needs: Mapping[int, Mapping[int, int]],
    coming: tools.Coming,
    life: BitLife,
    kinds: Container[str],
) -> dict[int, list[Line]]:
    """The lines of tools, of these kinds of lines only."""
    found: dict[int, list[Line]] = defaultdict(list)
    rows: list[dict[int, list[Line]]] = []
    if PoolLine.kind in kinds:
        rows.append(tools.pool_lines(holds(build, dates), pools(), losing(), coming))
    if DrillLine.kind in kinds:
        planned = planned_holes(build)
        rows.append(tools.drill_lines(planned, drill_stock(), life, coming))
    if ToolLine.kind in kinds:
        wanted = hand_tools_wanted(needs)
        rows.append(tools.hand_tool_lines(wanted, hand_tools_kept(), coming))
    for row in rows:
        for stage, lines in row.items():
            found[stage] += lines
    return found
