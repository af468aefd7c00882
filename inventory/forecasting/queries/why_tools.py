"""Why a pool of temporary fasteners or a size of drill is short: opened to its sources."""

from collections.abc import Sequence

from inventory import days
from inventory.catalog.models import Item
from inventory.catalog.rules import HOLDING
from inventory.forecasting.queries.readiness import Readiness
from inventory.forecasting.queries.tools import (
    drill_name,
    drill_stock,
    equivalent,
    fastener_for,
    holds,
    losing,
    pools,
)
from inventory.forecasting.rules.bitlife import BitLife
from inventory.forecasting.rules.lines import DrillLine, PoolLine, SizeLine, ToolLine
from inventory.forecasting.rules.losses import Losing
from inventory.forecasting.rules.tools import DrillStock
from inventory.ledger.queries import in_bins
from inventory.ledger.queries.counts import uses_and_losses
from inventory.people.queries import shop
from inventory.planning.models import CLOSED, Assembly
from inventory.planning.queries import drillings
from inventory.planning.rules.reasons import Reason


def pool_reasons(item: Item, found: Readiness) -> list[Reason]:
    """What is held at once, what is owned, and how many are lost in use."""
    size = fastener_for(item.size)
    own = pools().get(size, (0, 0))[0]
    there = in_bins()
    holding = [
        row
        for row in Item.objects.filter(kind__in=HOLDING)
        if fastener_for(row.size) == size and row.holds_a_hole
    ]
    inside = sum(there.get(row.pk, 0) for row in holding)
    return [
        *(_pool_stage(name, line) for name, line in _lines(found, PoolLine, size)),
        _held(found, size),
        Reason(
            own,
            f"owned of the {size} size, lent ones not counted",
            "ledger; only standard and short ones hold a hole",
            (
                Reason(inside, "in their bins"),
                Reason(own - inside, "out at work"),
            ),
        ),
        _losses(losing()),
    ]


def _lines(
    found: Readiness, kind: type[SizeLine], size: str
) -> list[tuple[str, SizeLine]]:
    return [
        (row.stage.name, line)
        for row in found.stages
        for line in row.lines
        if isinstance(line, kind) and line.size == size
    ]


def _pool_stage(name: str, line: SizeLine) -> Reason:
    return Reason(
        round(line.chance_short, 4),
        f"chance that too few are left in {name}",
        line.note,
        (
            Reason(line.need, "held at once at the most while it lasts"),
            Reason(line.on_hand, "owned"),
            Reason(line.due, "due before it starts"),
            Reason(round(line.expected_use, 1), "lost by its end, on average"),
            Reason(line.to_order, f"to order by {days.said(line.order_by)}"),
        ),
    )


def _held(found: Readiness, size: str) -> Reason:
    dates = [row.dates for row in found.stages]
    rows = holds(found.build, dates).get(size, [])
    names = Assembly.objects.select_related("stage").in_bulk(
        [row.assembly_id for row in rows]
    )
    parts = tuple(
        Reason(
            row.quantity,
            f"{names[row.assembly_id].stage.name} / {names[row.assembly_id].name}, "
            f"{days.said(row.start)} to {days.said(row.end)}",
        )
        for row in rows
    )
    return Reason(
        sum(row.quantity for row in rows),
        "holes held in all, over every assembly that is not closed",
        "plan: holes, fastened every n-th, days held",
        parts,
    )


def _losses(known: Losing) -> Reason:
    used, lost = uses_and_losses(HOLDING)
    return Reason(
        round(1000 * known.lost / (known.lost + known.kept), 2),
        "lost in a thousand uses, as believed",
        "the guess of one, worth a thousand uses, and the counts of all sizes",
        (
            Reason(used, "uses on record"),
            Reason(lost, "found lacking by counts"),
        ),
    )


def hand_tool_reasons(item: Item, found: Readiness) -> list[Reason]:
    """The stages whose rivets want a die, cutter or set of this size."""
    return [
        Reason(
            round(line.chance_short, 4),
            f"chance that {row.stage.name} stops for want of it",
            line.note,
            (
                Reason(line.on_hand, "in the shop, of every kind that would do"),
                Reason(line.due, "due before it starts"),
            ),
        )
        for row in found.stages
        for line in row.lines
        if isinstance(line, ToolLine) and line.item_id == item.pk
    ]


def drill_reasons(item: Item, found: Readiness) -> list[Reason]:
    """Holes planned, bits here, and how long a bit lasts."""
    size = drill_name(item.size)
    have = drill_stock().get(size, DrillStock(item.pk))
    stages = [_drill_stage(name, line) for name, line in _lines(found, DrillLine, size)]
    return [*stages, _holes(found, size), *_bits(have), _life(found.bit_life)]


def _drill_stage(name: str, line: SizeLine) -> Reason:
    return Reason(
        round(line.chance_short, 4),
        f"chance that the sharp bits do not last {name}",
        line.note,
        (
            Reason(line.need, "equivalent full holes in it"),
            Reason(round(line.expected_use, 1), "fresh bits wanted by its end"),
            Reason(line.use_95, "bits that 19 builders in 20 stay within"),
            Reason(line.on_hand, "sharp, not counting the one fitted"),
            Reason(line.due, "due before it starts"),
            Reason(line.to_order, f"to order by {days.said(line.order_by)}"),
        ),
    )


def _holes(found: Readiness, size: str) -> Reason:
    weights = shop().wear_weights
    rows = [
        row
        for row in drillings(found.build).exclude(assembly__state=CLOSED)
        if row.hole_size == size
    ]
    parts = tuple(
        Reason(
            round(equivalent(row, weights), 1),
            f"{row.assembly.stage.name} / {row.assembly.name}: "
            f"{row.holes_each * row.assembly.how_many} holes, "
            f"'{row.operation}' counts {weights[row.operation]:g} of one",
        )
        for row in rows
    )
    return Reason(
        round(sum(part.number for part in parts), 1),
        f"equivalent full holes of {size} still planned",
        "the weights are guesses, and can be set",
        parts,
    )


def _bits(have: DrillStock) -> list[Reason]:
    found = [Reason(have.sharp, "sharp bits: fresh in bins, resharpened, set aside")]
    if have.used_on_fitted is not None:
        found.append(
            Reason(round(have.used_on_fitted, 1), "equivalent holes on the one fitted")
        )
    return found


def _life(life: BitLife) -> Reason:
    prior = life.prior
    return Reason(
        round(life.median),
        "holes that half of all fresh bits reach",
        "Weibull, with bits still in use counted as such",
        (
            Reason(
                prior.median, f"holes is the guess, worth {prior.worth:g} worn bits"
            ),
            _worn("bits worn out or broken on record", life.worn),
            _worn("bits still in use, or set aside", life.in_use),
        ),
    )


def _worn(words: str, holes: Sequence[float]) -> Reason:
    parts = tuple(Reason(round(each, 1), "equivalent holes") for each in holes)
    return Reason(len(holes), words, "", parts)
