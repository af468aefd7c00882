"""Lines of a stage that no rivet makes: the pool of temporary fasteners, the drills."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from math import ceil

from inventory.forecasting.rules.pool import Held, peak_by_stage
from inventory.forecasting.rules.readiness import Due, Lead, Line
from inventory.forecasting.rules.wear import Life, bits_needed
from inventory.planning.rules.dating import Dated


@dataclass(frozen=True)
class DrillStock:
    """Sharp bits of one size, and the equivalent holes on the fitted one, if any."""

    item_id: int
    sharp: int = 0
    used_on_fitted: float | None = None


def pool_lines(
    holds: Mapping[str, Sequence[Held]],
    pools: Mapping[str, tuple[int, int]],
    dates: Sequence[Dated],
    due: Sequence[Due],
    leads: Mapping[int, Lead],
) -> dict[int, list[Line]]:
    """A line for each stage and size: the peak held at once against the pool."""
    found: dict[int, list[Line]] = {}
    days = {row.pk: row for row in dates}
    for size, rows in holds.items():
        have, item = pools.get(size, (0, 0))
        for stage, top in peak_by_stage(rows).items():
            coming = _due(due, item, days[stage])
            lead = leads[item]
            lacking = max(0, top.quantity - have - coming)
            note = f"{top.quantity} held at once on {top.day}" if top.day else ""
            found.setdefault(stage, []).append(
                Line(
                    kind="pool",
                    item_id=item,
                    need=top.quantity,
                    through=top.quantity,
                    on_hand=have,
                    due=coming,
                    expected_use=0.0,
                    use_95=top.quantity,
                    chance_short=1.0 if lacking else 0.0,
                    certainly_short=lacking > 0,
                    order_by=days[stage].start - timedelta(days=lead.days),
                    lead=lead,
                    to_order=lacking,
                    short=lacking > 0,
                    note=note,
                    size=size,
                )
            )
    return found


def drill_lines(
    planned: Mapping[int, Mapping[str, float]],
    stock: Mapping[str, DrillStock],
    dates: Sequence[Dated],
    due: Sequence[Due],
    leads: Mapping[int, Lead],
    life: Life,
) -> dict[int, list[Line]]:
    """A line for each stage and drill size: bits wanted through it against sharp ones."""
    through: dict[str, float] = {}
    found: dict[int, list[Line]] = {}
    for day in dates:
        for size, holes in planned.get(day.pk, {}).items():
            through[size] = through.get(size, 0.0) + holes
            have = stock.get(size, DrillStock(0))
            used = life.holes if have.used_on_fitted is None else have.used_on_fitted
            wanted = bits_needed(through[size], used, life.holes)
            coming = _due(due, have.item_id, day)
            lead = leads[have.item_id]
            lacking = max(0, wanted - have.sharp - coming)
            guess = " (a guess)" if life.is_guess else ""
            found.setdefault(day.pk, []).append(
                Line(
                    kind="drill",
                    item_id=have.item_id,
                    need=ceil(holes),
                    through=wanted,
                    on_hand=have.sharp,
                    due=coming,
                    expected_use=holes / life.holes,
                    use_95=wanted,
                    chance_short=1.0 if lacking else 0.0,
                    certainly_short=False,
                    order_by=day.start - timedelta(days=lead.days),
                    lead=lead,
                    to_order=lacking,
                    short=lacking > 0,
                    note=f"{holes:.0f} equivalent holes at {life.holes:.0f} a bit{guess}",
                    size=size,
                )
            )
    return found


def _due(due: Sequence[Due], item: int, day: Dated) -> int:
    return sum(d.pieces for d in due if d.item_id == item and d.on <= day.start)
