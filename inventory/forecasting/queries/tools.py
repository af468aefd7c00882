"""Reads of the tools: temporary fasteners held at once, drill bits and their lives."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from math import ceil

from django.db.models import F, Q

from inventory.catalog.models import Item
from inventory.catalog.rules import HOLDING, ONE_AT_A_TIME, TOOLS_OF_HEADS, UPSET
from inventory.errors import Refused
from inventory.forecasting.models import Bit, BitEvent
from inventory.forecasting.rules import pool, tools
from inventory.forecasting.rules.bitlife import BitLife, Prior, lives
from inventory.forecasting.rules.bits import BitState
from inventory.forecasting.rules.losses import Losing
from inventory.ledger.queries import in_bins, owned
from inventory.ledger.queries.counts import uses_and_losses
from inventory.people.models import Shop
from inventory.people.queries import shop
from inventory.people.rules import Doing
from inventory.planning.models import CLOSED, Assembly, Build, Drilling
from inventory.planning.queries import drillings
from inventory.planning.rules.dating import Dated
from inventory.trade import drills, holders, sizes


def holds(build: Build | None, dates: Sequence[Dated]) -> dict[str, list[pool.Hold]]:
    """Holds of temporary fasteners by their size, for assemblies not closed."""
    starts = {row.pk: row.start for row in dates if not row.over}
    found: dict[str, list[pool.Hold]] = defaultdict(list)
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
            found[fastener_for(row.hole_size)].append(held)
    return dict(found)


def pools() -> dict[str, tuple[int, int]]:
    """Owned temporary fasteners by size: how many, and the item to buy more of."""
    have = owned()
    found: dict[str, tuple[int, int]] = {}
    rows = Item.objects.filter(kind__in=HOLDING).order_by("form", "pk")
    for item in rows:
        size = fastener_for(item.size)
        count, first = found.get(size, (0, item.pk))
        if item.form == item.sort.holding[0]:
            first = item.pk
        owns = have.get(item.pk, 0) if item.holds_a_hole else 0
        found[size] = (count + owns, first)
    return found


def fasteners_wanted(assembly: Assembly) -> dict[str, int]:
    """Temporary fasteners that an assembly holds at once, by their size."""
    found: dict[str, int] = defaultdict(int)
    for row in assembly.drillings.exclude(every_nth=0):
        held = ceil(row.holes_each * assembly.how_many / row.every_nth)
        found[fastener_for(row.hole_size)] += held
    return dict(found)


def fastener_for(size: str) -> str:
    """The temporary fastener for a hole; a size nobody knows stands for itself."""
    try:
        return holders.holder_size(size)
    except Refused:
        return size


def hand_tools_wanted(
    needs: Mapping[int, Mapping[int, int]],
) -> dict[int, dict[tools.HandTool, int]]:
    """Rivets still to drive by stage and the tool their heads want."""
    heads = {
        row.pk: tools.HandTool(TOOLS_OF_HEADS[row.head], thirty_seconds(row))
        for row in Item.objects.filter(kind__in=UPSET, head__in=TOOLS_OF_HEADS).exclude(
            diameter_in=None
        )
    }
    found: dict[int, dict[tools.HandTool, int]] = {}
    for stage, items in needs.items():
        counts: dict[tools.HandTool, int] = defaultdict(int)
        for item, left in items.items():
            if left and item in heads:
                counts[heads[item]] += left
        found[stage] = dict(counts)
    return found


def thirty_seconds(item: Item) -> str:
    """A rivet's diameter as it is called: '3/32'."""
    return sizes.print_size(Fraction(round((item.diameter_in or 0) * 32), 32))


def hand_tools_kept() -> dict[str, dict[str, tools.Kept]]:
    """Dies, cutters and sets by kind and size; a kind in no bin is not kept here."""
    have = owned()
    kinds = {kind for row in TOOLS_OF_HEADS.values() for kind in row}
    found: dict[str, dict[str, tools.Kept]] = defaultdict(dict)
    rows = Item.objects.filter(kind__in=kinds, bins__isnull=False).distinct()
    for item in rows.order_by("pk"):
        try:
            size = sizes.print_size(sizes.parse_size(item.size))
        except Refused:
            size = item.size
        before = found[item.kind].get(size, tools.Kept(0, item.pk))
        pieces = before.pieces + have.get(item.pk, 0)
        found[item.kind][size] = tools.Kept(pieces, before.item_id)
    return dict(found)


def planned_holes(build: Build | None) -> dict[int, dict[str, float]]:
    """Equivalent holes still to drill, by stage and drill size."""
    found: dict[int, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    weights = shop().wear_weights
    for row in drillings(build).exclude(assembly__state=CLOSED):
        found[row.assembly.stage_id][row.hole_size] += equivalent(row, weights)
    return {stage: dict(sizes) for stage, sizes in found.items()}


def equivalent(row: Drilling, weights: Mapping[str, float]) -> float:
    """Equivalent full holes of one row; the weights are the shop's own guesses."""
    return row.holes_each * row.assembly.how_many * weights[row.operation]


def drill_stock() -> dict[str, tools.DrillStock]:
    """Sharp bits by drill size, and the holes on the one that is fitted."""
    fresh = in_bins()
    found: dict[str, tools.DrillStock] = {}
    spare = Bit.objects.filter(
        state__in=[BitState.RESHARPENED, BitState.SET_ASIDE]
    ).values_list("item_id", flat=True)
    loose = list(spare)
    for item in Item.objects.filter(kind__in=ONE_AT_A_TIME).order_by("-form", "pk"):
        size = drill_name(item.size)
        old = found.get(size, tools.DrillStock(item.pk))
        found[size] = tools.DrillStock(
            item.pk if item.form == item.sort.forms[0] else old.item_id,
            old.sharp + fresh.get(item.pk, 0) + loose.count(item.pk),
            old.used_on_fitted,
        )
    for bit in Bit.objects.filter(state=BitState.FITTED).select_related("item"):
        size = drill_name(bit.item.size)
        old = found.get(size, tools.DrillStock(bit.item_id))
        found[size] = tools.DrillStock(old.item_id, old.sharp, holes_on(bit))
    return found


def drill_name(size: str) -> str:
    """The usual name of a drill's size; one nobody knows stands for itself."""
    try:
        return drills.drill(size).name
    except Refused:
        return size


def holes_on(bit: Bit, *, until: datetime | None = None) -> float:
    """Equivalent holes booked to a bit since it was last sharp, or `until` a time.

    While it is fitted, the holes of every assembly closed are its own; else those of the
    assemblies that somebody said it drilled.
    """
    total, since = 0.0, None
    told = [
        (work.closed_at, _holes_in(bit.item.size, Q(assembly=work.assembly_id)))
        for work in bit.works.filter(closed_at=F("assembly__closed_at"))
    ]
    for event in bit.happened:
        if since is not None:
            total += closed_holes(bit.item.size, since, event.at)
        since = event.at if event.event == BitState.FITTED else None
        if event.event == BitState.RESHARPENED:
            total = 0.0
            told = [(at, holes) for at, holes in told if at >= event.at]
    if since is not None:
        total += closed_holes(bit.item.size, since, until)
    return total + sum(holes for _at, holes in told)


def closed_holes(size: str, since: datetime, until: datetime | None) -> float:
    """Equivalent holes of one size in assemblies closed in a span of time."""
    closed = Q(assembly__closed_at__gte=since)
    if until is not None:
        closed &= Q(assembly__closed_at__lt=until)
    return _holes_in(size, closed)


def _holes_in(size: str, which: Q) -> float:
    rows = Drilling.objects.filter(which, hole_size=drill_name(size))
    weights = shop().wear_weights
    return sum(equivalent(row, weights) for row in rows.select_related("assembly"))


@dataclass(frozen=True)
class Unfitted:
    """Holes of a size that no fitted bit drills, and the bits that may have done it."""

    size: str
    holes: int
    bits: Sequence[Bit]


def unfitted(assembly: Assembly) -> list[Unfitted]:
    """The hole sizes of an assembly whose bits have tags, where none of them is fitted."""
    tagged: dict[str, list[Bit]] = defaultdict(list)
    for bit in Bit.objects.select_related("item").order_by("number"):
        tagged[drill_name(bit.item.size)].append(bit)
    holes: dict[str, int] = defaultdict(int)
    for row in assembly.drillings.all():
        holes[row.hole_size] += row.holes_each * assembly.how_many
    return [
        Unfitted(size, count, tagged[size])
        for size, count in holes.items()
        if size in tagged and all(bit.state != BitState.FITTED for bit in tagged[size])
    ]


def bit_life(settings: Shop) -> BitLife:
    """What is believed of a bit's life: the stated guess and every bit's record."""
    worn: list[float] = []
    in_use: list[float] = []
    for bit in Bit.objects.prefetch_related("events"):
        happened = [(row.event, float(row.holes)) for row in bit.happened]
        ended, running = lives(happened, holes_on(bit))
        worn += ended
        in_use += running
    prior = Prior(median=float(settings.bit_life_holes))
    return BitLife(tuple(sorted(worn)), tuple(sorted(in_use)), prior)


def losing() -> Losing:
    """What is believed of temporary fasteners lost: what counts found too few of."""
    used, gone = uses_and_losses(HOLDING)
    return Losing().after(min(gone, used), max(0, used - gone))


def bits() -> list[Bit]:
    """Every bit that has a tag and what happened to it, the broken ones last."""
    rows = Bit.objects.select_related("item").prefetch_related("events__by")
    order = [
        BitState.FITTED,
        BitState.RESHARPENED,
        BitState.SET_ASIDE,
        BitState.DULL,
        BitState.BROKEN,
    ]
    return sorted(rows, key=lambda bit: (order.index(BitState(bit.state)), bit.number))


def doings(since: datetime, until: datetime, most: int) -> list[Doing]:
    """What was noted of bits in a span."""
    rows = BitEvent.objects.select_related("by", "bit__item").order_by("-pk")
    return [
        Doing(
            row.at,
            str(row.by),
            row.by_id,
            f"bit {row.bit.number}, {row.bit.item.words}: {row.get_event_display()}"
            f"{', taken back' if row.back_at else ''}",
            "bits",
        )
        for row in rows.filter(at__gte=since, at__lt=until)[:most]
    ]


def bit_numbered(number: int) -> Bit:
    """Errors: `forecasting.no_bit`."""
    bit = Bit.objects.select_related("item").filter(number=number).first()
    if bit is None:
        raise Refused(
            "forecasting.no_bit", f"There is no bit {number} here: fit one from a bin."
        )
    return bit
