"""Lines of a stage that no rivet makes: temporary fasteners, drills, dies and sets."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from math import ceil
from typing import NamedTuple

from inventory import days
from inventory.forecasting.rules.bitlife import BitLife
from inventory.forecasting.rules.lines import DrillLine, Line, PoolLine, ToolLine
from inventory.forecasting.rules.losses import (
    Losing,
    chance_enough,
    every_nth,
    to_buy,
)
from inventory.forecasting.rules.pool import Hold, Peak, peak_by_stage
from inventory.forecasting.rules.readiness import USE_SHARE
from inventory.ordering.rules.leads import Due, Lead, late_for
from inventory.planning.rules.dating import Dated

# A tool runs short when the chance that it does is above this: as the stage's 95 %.
SHARE = 1 - USE_SHARE


@dataclass(frozen=True)
class DrillStock:
    """Sharp bits of one size, and the equivalent holes on the fitted one, if any."""

    item_id: int
    sharp: int = 0
    used_on_fitted: float | None = None


@dataclass(frozen=True)
class Coming:
    """The open stages' days, what orders still owe, and how long orders take."""

    dates: Sequence[Dated]
    due: Sequence[Due]
    leads: Mapping[int, Lead]

    def by(self, item: int, day: Dated) -> int:
        """Pieces of an item that are due before a stage starts."""
        return sum(
            d.pieces for d in self.due if d.item_id == item and d.on <= day.start
        )

    def late(self, item: int, day: Dated) -> tuple[int, int]:
        """Pieces that are due after a stage starts, and by how many days at least."""
        return late_for([d for d in self.due if d.item_id == item], day.start)


def pool_lines(
    holds: Mapping[str, Sequence[Hold]],
    pools: Mapping[str, tuple[int, int]],
    losing: Losing,
    coming: Coming,
) -> dict[int, list[Line]]:
    """A line for each stage and size: the peak held at once against the pool.

    Every fastener clamped once may be lost: the pool shrinks with the uses before.
    """
    found: dict[int, list[Line]] = {}
    days = {row.pk: row for row in coming.dates}
    for size, rows in holds.items():
        tops, uses = peak_by_stage(rows), 0
        for stage in sorted(tops, key=lambda pk: days[pk].start):
            uses += sum(hold.quantity for hold in rows if hold.stage_id == stage)
            line = _Pooled(size, tops[stage], uses, *pools.get(size, (0, 0)))
            found.setdefault(stage, []).append(line(days[stage], losing, coming))
    return found


@dataclass(frozen=True)
class _Pooled:
    size: str
    top: Peak
    uses: int
    have: int
    item: int

    def __call__(self, day: Dated, losing: Losing, coming: Coming) -> Line:
        lead, due = coming.leads[self.item], coming.by(self.item, day)
        losses = losing.over(self.uses)
        chance = 1 - chance_enough(self.have + due, self.top.quantity, losses)
        late, days_late = coming.late(self.item, day)
        lacking = to_buy(self.have + due + late, self.top.quantity, losses)
        return PoolLine(
            item_id=self.item,
            need=self.top.quantity,
            through=self.top.quantity,
            on_hand=self.have,
            due=due,
            expected_use=losses.expected,
            use_95=self.top.quantity,
            chance_short=chance,
            certainly_short=self.have + due < self.top.quantity,
            order_by=day.start - timedelta(days=lead.days),
            lead=lead,
            to_order=lacking,
            short=chance > SHARE,
            late=late,
            days_late=days_late,
            note=self._note(short=chance > SHARE),
            size=self.size,
        )

    def _note(self, *, short: bool) -> str:
        held = f"{self.top.quantity:,} held at once on {days.said(self.top.day)}"
        nth = every_nth(self.have, self.top.quantity) if short else 1
        if not short or nth is None or nth < 2:
            return held
        return f"{held}; what is owned allows one in every {nth} of them"


def drill_lines(
    planned: Mapping[int, Mapping[str, float]],
    stock: Mapping[str, DrillStock],
    life: BitLife,
    coming: Coming,
) -> dict[int, list[Line]]:
    """A line for each stage and drill size: bits wanted through it against sharp ones."""
    through: dict[str, float] = {}
    found: dict[int, list[Line]] = {}
    for day in coming.dates:
        for size, holes in planned.get(day.pk, {}).items():
            through[size] = through.get(size, 0.0) + holes
            have = stock.get(size, DrillStock(0))
            ask = _Drilling(size, holes, through[size], have)
            found.setdefault(day.pk, []).append(_drill_line(ask, day, life, coming))
    return found


@dataclass(frozen=True)
class _Drilling:
    """Equivalent holes of one size in a stage and through it, and the bits there are."""

    size: str
    holes: float
    through: float
    have: DrillStock


def _drill_line(ask: _Drilling, day: Dated, life: BitLife, coming: Coming) -> Line:
    have, used = ask.have, ask.have.used_on_fitted
    wanted = life.bits_for(round(ask.through), None if used is None else round(used))
    due, lead = coming.by(have.item_id, day), coming.leads[have.item_id]
    late, days_late = coming.late(have.item_id, day)
    chance = 1 - wanted.within(have.sharp + due)
    return DrillLine(
        item_id=have.item_id,
        need=ceil(ask.holes),
        through=wanted.at(0.5),
        on_hand=have.sharp,
        due=due,
        expected_use=wanted.expected,
        use_95=wanted.at(USE_SHARE),
        chance_short=chance,
        certainly_short=False,
        order_by=day.start - timedelta(days=lead.days),
        lead=lead,
        to_order=max(0, wanted.at(USE_SHARE) - have.sharp - due - late),
        short=chance > SHARE,
        late=late,
        days_late=days_late,
        note=_drill_note(ask, life),
        size=ask.size,
    )


def _drill_note(ask: _Drilling, life: BitLife) -> str:
    guess = " (a guess)" if life.is_guess else ""
    said = f"{ask.holes:.0f} equivalent holes at {life.median:.0f} a bit{guess}"
    if ask.have.used_on_fitted is None:
        return said
    lasts = life.chance_lasts(ask.have.used_on_fitted, ask.holes)
    return f"{said}; the one fitted lasts this stage with a chance of {lasts:.0%}"


class HandTool(NamedTuple):
    """A size of tool that is owned or not: the kinds that would do, and the size."""

    kinds: tuple[str, ...]
    size: str


@dataclass(frozen=True)
class Kept:
    """A size of one kind of tool in this shop: pieces, and the item they are."""

    pieces: int
    item_id: int


def hand_tool_lines(
    wanted: Mapping[int, Mapping[HandTool, int]],
    kept: Mapping[str, Mapping[str, Kept]],
    coming: Coming,
) -> dict[int, list[Line]]:
    """A line for each stage and size of die, cutter or set that its heads want.

    `wanted` counts the rivets by stage and tool, `kept` the tools by kind and size. A
    shop that keeps none of a tool's kinds keeps them elsewhere: nothing is said.
    """
    found: dict[int, list[Line]] = {}
    for day in coming.dates:
        for tool, rivets in wanted.get(day.pk, {}).items():
            if any(kept.get(kind) for kind in tool.kinds):
                line = _hand_tool_line(tool, rivets, kept, day, coming)
                found.setdefault(day.pk, []).append(line)
    return found


def _hand_tool_line(
    tool: HandTool,
    rivets: int,
    kept: Mapping[str, Mapping[str, Kept]],
    day: Dated,
    coming: Coming,
) -> Line:
    rows = [kept.get(kind, {}).get(tool.size) for kind in tool.kinds]
    there = [row for row in rows if row is not None]
    have = sum(row.pieces for row in there)
    item = there[0].item_id if there else 0
    due = sum(coming.by(row.item_id, day) for row in there)
    lates = [coming.late(row.item_id, day) for row in there]
    late = sum(pieces for pieces, _days in lates)
    lacking = not have + due
    words = " or ".join(kind.replace("_", " ") for kind in tool.kinds)
    said = f"a {tool.size} {words} for {rivets} rivets"
    lead = coming.leads[item]
    return ToolLine(
        item_id=item,
        need=1,
        through=1,
        on_hand=have,
        due=due,
        expected_use=0.0,
        use_95=1,
        chance_short=float(lacking),
        certainly_short=lacking,
        order_by=day.start - timedelta(days=lead.days),
        lead=lead,
        to_order=int(lacking and not late),
        short=lacking,
        late=late,
        days_late=min((days for pieces, days in lates if pieces), default=0),
        note=f"{said}; none of this size is in the shop" if lacking else said,
        size=f"{tool.size} {words}",
    )
