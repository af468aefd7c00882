"""The forecast: readiness of every stage, read from plan, ledger and record."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from math import ceil

from django.db.models import Q

from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.forecasting.models import ASIDE, BROKEN, DULL, FITTED, SHARPENED, Bit
from inventory.forecasting.models import BitEvent as BitEvent
from inventory.forecasting.rules import pool, tools, wear
from inventory.forecasting.rules.readiness import (
    Due,
    Lead,
    Line,
    StageAsk,
    Verdict,
    lines_of_items,
    verdict,
)
from inventory.forecasting.rules.spoilage import Beta
from inventory.ledger.queries import in_bins, owned
from inventory.people.models import Shop
from inventory.people.queries import shop
from inventory.planning.models import CLOSED, Assembly, Build, Drilling, Stage
from inventory.planning.queries import (
    current_build,
    dated,
    drillings,
    remaining_by_stage,
    spoilage_record,
    stages,
)
from inventory.planning.rules.dating import Dated
from inventory.planning.rules.lines import OPERATIONS
from inventory.trade import drills, holders


@dataclass(frozen=True)
class StageReadiness:
    """A stage, its dates, what it asks and the verdict on it."""

    stage: Stage
    dates: Dated
    lines: Sequence[Line]
    verdict: Verdict


@dataclass(frozen=True)
class Readiness:
    """The whole build as of a day. `items` are all that its lines name."""

    build: Build | None
    today: date
    confidence: float
    stages: Sequence[StageReadiness]
    items: Mapping[int, Item]
    bit_life: wear.Life


def readiness(today: date, due: Sequence[Due], leads: Mapping[int, Lead]) -> Readiness:
    """Every open stage's readiness.

    `due` is what orders still owe; `leads` the lead time of items that have one. Both
    come from the floor above, which calls this.
    """
    settled, build = shop(), current_build()
    dates = dated(build, today, settled.pace_days)
    open_dates = [row for row in dates if not row.over]
    default = Lead(settled.lead_days, True)
    lines = _item_lines(build, open_dates, due, _Leads(leads, default), settled)
    tooling = _tool_lines(build, dates, due, _Leads(leads, default), settled)
    rows = {row.pk: row for row in stages(build)}
    confidence = float(settled.stage_confidence)
    found = []
    for day in open_dates:
        asked = lines.get(day.pk, []) + tooling.get(day.pk, [])
        ordered = sorted(asked, key=lambda line: (not line.short, -line.chance_short))
        found.append(
            StageReadiness(rows[day.pk], day, ordered, verdict(asked, confidence))
        )
    named = {line.item_id for row in found for line in row.lines}
    return Readiness(
        build,
        today,
        confidence,
        found,
        Item.objects.in_bulk(list(named)),
        bit_life(settled),
    )


class _Leads(dict[int, Lead]):
    """Lead times, with the shop's stated guess where none is known."""

    def __init__(self, known: Mapping[int, Lead], default: Lead) -> None:
        super().__init__(known)
        self.default = default

    def __missing__(self, item: int) -> Lead:
        return self.default


def beliefs(items: Iterable[Item]) -> dict[int, Beta]:
    """What the record says of each item's spoilage, by its class."""
    rows = list(items)
    classes = dict(Item.objects.values_list("pk", "spoilage_class"))
    seen: dict[str, Beta] = defaultdict(Beta)
    for record in spoilage_record():
        name = classes[record.item_id] or f"item {record.item_id}"
        seen[name] = seen[name].seen(record.good, record.bad)
    return {row.pk: seen[row.spoilage_class or f"item {row.pk}"] for row in rows}


def _item_lines(
    build: Build | None,
    dates: Sequence[Dated],
    due: Sequence[Due],
    leads: _Leads,
    settled: Shop,
) -> dict[int, list[Line]]:
    needs = remaining_by_stage(build)
    asks = [StageAsk(row.pk, row.start, needs.get(row.pk, {})) for row in dates]
    named = Item.objects.filter(pk__in={i for ask in asks for i in ask.needs})
    return lines_of_items(
        asks, in_bins(), due, beliefs(named), leads, float(settled.stage_confidence)
    )


def holds(build: Build | None, dates: Sequence[Dated]) -> dict[str, list[pool.Held]]:
    """Holds of temporary fasteners by their size, for assemblies not closed."""
    starts = {row.pk: row.start for row in dates if not row.over}
    found: dict[str, list[pool.Held]] = defaultdict(list)
    for row in drillings(build).exclude(assembly__state=CLOSED):
        stage = row.assembly.stage_id
        if stage not in starts:
            continue
        held = pool.held_by(
            row.holes_each * row.assembly.how_many,
            row.every_nth,
            starts[stage],
            row.days_held,
            (row.assembly_id, stage),
        )
        if held:
            found[holder(row.hole_size)].append(held)
    return dict(found)


def pools() -> dict[str, tuple[int, int]]:
    """Owned temporary fasteners by size: how many, and the item to buy more of."""
    have = owned()
    found: dict[str, tuple[int, int]] = {}
    rows = Item.objects.filter(kind="temporary_fastener").order_by("form", "pk")
    for item in rows:
        size = holder(item.size)
        count, first = found.get(size, (0, item.pk))
        if item.form == "standard":
            first = item.pk
        counts = item.form in ("standard", "short")
        found[size] = (count + (have.get(item.pk, 0) if counts else 0), first)
    return found


def fasteners_wanted(assembly: Assembly) -> dict[str, int]:
    """Temporary fasteners that an assembly holds at once, by their size."""
    found: dict[str, int] = defaultdict(int)
    for row in assembly.drillings.exclude(every_nth=0):
        held = ceil(row.holes_each * assembly.how_many / row.every_nth)
        found[holder(row.hole_size)] += held
    return dict(found)


def holder(size: str) -> str:
    """The temporary fastener for a hole; a size nobody knows stands for itself."""
    try:
        return holders.holder_size(size)
    except Refused:
        return size


def _tool_lines(
    build: Build | None,
    dates: Sequence[Dated],
    due: Sequence[Due],
    leads: _Leads,
    settled: Shop,
) -> dict[int, list[Line]]:
    open_dates = [row for row in dates if not row.over]
    found = tools.pool_lines(holds(build, dates), pools(), open_dates, due, leads)
    planned = planned_holes(build)
    for stage, lines in tools.drill_lines(
        planned, drill_stock(), open_dates, due, leads, bit_life(settled)
    ).items():
        found.setdefault(stage, []).extend(lines)
    return found


def planned_holes(build: Build | None) -> dict[int, dict[str, float]]:
    """Equivalent holes still to drill, by stage and drill size."""
    found: dict[int, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for row in drillings(build).exclude(assembly__state=CLOSED):
        found[row.assembly.stage_id][row.hole_size] += equivalent(row)
    return {stage: dict(sizes) for stage, sizes in found.items()}


def equivalent(row: Drilling) -> float:
    """Equivalent full holes of one row: the operation's weight is a guess."""
    return row.holes_each * row.assembly.how_many * OPERATIONS[row.operation]


def drill_stock() -> dict[str, tools.DrillStock]:
    """Sharp bits by drill size, and the holes on the one that is fitted."""
    fresh = in_bins()
    found: dict[str, tools.DrillStock] = {}
    spare = Bit.objects.filter(state__in=[SHARPENED, ASIDE]).values_list(
        "item_id", flat=True
    )
    loose = list(spare)
    for item in Item.objects.filter(kind="drill").order_by("-form", "pk"):
        size = _drill_name(item.size)
        old = found.get(size, tools.DrillStock(item.pk))
        found[size] = tools.DrillStock(
            item.pk if item.form == "plain" else old.item_id,
            old.sharp + fresh.get(item.pk, 0) + loose.count(item.pk),
            old.used_on_fitted,
        )
    for bit in Bit.objects.filter(state=FITTED).select_related("item"):
        size = _drill_name(bit.item.size)
        old = found.get(size, tools.DrillStock(bit.item_id))
        found[size] = tools.DrillStock(old.item_id, old.sharp, holes_on(bit))
    return found


def _drill_name(size: str) -> str:
    try:
        return drills.drill(size).name
    except Refused:
        return size


def holes_on(bit: Bit) -> float:
    """Equivalent holes booked to a bit since it was last sharp.

    While it is fitted, the holes of every assembly closed are its own.
    """
    total, since = 0.0, None
    for event in bit.events.order_by("pk"):
        if since is not None:
            total += closed_holes(bit.item.size, since, event.at)
        since = event.at if event.event == FITTED else None
        if event.event == SHARPENED:
            total = 0.0
    if since is not None:
        total += closed_holes(bit.item.size, since, None)
    return total


def closed_holes(size: str, since: datetime, until: datetime | None) -> float:
    """Equivalent holes of one size in assemblies closed in a span of time."""
    closed = Q(assembly__closed_at__gte=since)
    if until is not None:
        closed &= Q(assembly__closed_at__lt=until)
    rows = Drilling.objects.filter(closed, hole_size=_drill_name(size))
    return sum(equivalent(row) for row in rows.select_related("assembly"))


def bit_life(settled: Shop) -> wear.Life:
    """Equivalent holes a bit lasts: the record of dull bits, else the stated guess."""
    worn = BitEvent.objects.filter(event__in=[DULL, BROKEN]).values_list(
        "holes", flat=True
    )
    return wear.life([float(holes) for holes in worn], settled.bit_life_holes)


def bits() -> list[Bit]:
    """Every bit that has a tag, the fitted ones first."""
    return list(Bit.objects.select_related("item").order_by("-state", "number"))


def bit_numbered(number: int) -> Bit:
    """Errors: `forecasting.no_bit`."""
    bit = Bit.objects.select_related("item").filter(number=number).first()
    if bit is None:
        raise Refused(
            "forecasting.no_bit", f"There is no bit {number} here: fit one from a bin."
        )
    return bit
