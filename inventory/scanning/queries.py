"""What a bench needs to know: facts about a code, its assembly's asks, its last acts."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Count, Max, OuterRef, QuerySet, Subquery

from inventory.catalog.models import Item
from inventory.catalog.queries import look_alikes, nearest
from inventory.forecasting.models import Bit
from inventory.forecasting.queries.tools import fastener_for, fasteners_wanted
from inventory.forecasting.rules.bits import BitState
from inventory.ledger.queries import (
    Act,
    Bin,
    bins,
    bins_between,
    bins_of,
    quantities_at,
)
from inventory.ledger.queries.checking import in_pages
from inventory.ledger.rules import Flaw, Invariant
from inventory.people.models import User
from inventory.planning.models import CLOSED, Assembly
from inventory.planning.queries import Asked, asked_by, assembly_numbered
from inventory.scanning.models import Bench, Scan
from inventory.scanning.rules import reading
from inventory.scanning.rules.bench import State
from inventory.scanning.rules.facts import (
    AssemblyRow,
    Facts,
    ItemRow,
    Snapshot,
    facts_in,
)
from inventory.scanning.rules.reading import Code
from inventory.scanning.rules.saying import IDLE_HOURS
from inventory.trade.likeness import difference

GONE = (BitState.BROKEN,)
IDLE = timedelta(hours=IDLE_HOURS)


def state_of(bench: Bench, now: datetime) -> State:
    """The bench's state at a time; after four idle hours it is free again.

    Scans that waited on a device are as near to each other as they were made.
    """
    if now - bench.changed_at > IDLE:
        return State()
    return State.restored(bench.state)


def facts_for(code: Code, state: State, *, late: bool = False) -> Facts:
    """What the shop knows about a code. Errors: `ledger.no_bin` and its like.

    A late scan may name an assembly that was closed meanwhile: it was open then.
    """
    return facts_in(shop_for(code, state, late=late), code, state.assembly)


def shop_for(code: Code, state: State, *, late: bool = False) -> Snapshot:
    """As much of the shop as one code at one bench needs."""
    found: list[Bin] = []
    assemblies: list[Assembly] = []
    if state.assembly and code.type == reading.BIN:
        assemblies = [assembly_numbered(state.assembly)]
    if code.type == reading.ASSEMBLY:
        assemblies = list(Assembly.objects.filter(pk=code.number))
    if code.type == reading.BIN:
        found = bins_between(code.number, code.number)
        alike = [look_alikes(bin.item) for bin in found]
        found += bins_of(row.pk for rows in alike for row in rows)
    bits = Bit.objects.filter(number=code.number if code.type == reading.TOOL else 0)
    people = User.objects.filter(pk=code.number if code.type == reading.PERSON else 0)
    return _shop(found, assemblies, bits, people, late=late)


def whole_shop() -> Snapshot:
    """All a bench needs to go on without a connection."""
    return _shop(
        bins(),
        list(Assembly.objects.select_related("stage")),
        Bit.objects.exclude(state__in=GONE),
        User.objects.all(),
    )


def _shop(
    found: Sequence[Bin],
    assemblies: Sequence[Assembly],
    bits: QuerySet[Bit],
    people: QuerySet[User],
    *,
    late: bool = False,
) -> Snapshot:
    """For a late scan a closed assembly is as open as it was then."""
    there = quantities_at(bin.place_id for bin in found)
    closed = {row.pk for row in assemblies if row.state == CLOSED and not late}
    wanted = {row.pk: asked_by(row) for row in assemblies if row.pk not in closed}
    items = {bin.item_id: bin.item for bin in found}
    items |= {row.item.pk: row.item for rows in wanted.values() for row in rows}
    return Snapshot(
        bins={
            str(bin.number): {
                "item": bin.item_id,
                "spot": bin.spot,
                "on_hand": there.get((bin.place_id, bin.item_id), 0),
            }
            for bin in found
        },
        items=_item_rows(items),
        assemblies={
            str(row.pk): _assembly_row(row, wanted.get(row.pk), items.values())
            for row in assemblies
        },
        bits={
            str(bit.number): f"Bit {bit.number}, {bit.item.words}"
            for bit in bits.select_related("item")
        },
        people={str(each.pk): str(each) for each in people.filter(is_active=True)},
    )


def _item_rows(items: Mapping[int, Item]) -> dict[str, ItemRow]:
    groups: dict[tuple[object, ...], list[Item]] = defaultdict(list)
    for item in items.values():
        groups[item.kind, item.head, item.diameter_in].append(item)
    return {
        str(pk): {
            "words": item.title,
            "single": item.sort.one_at_a_time,
            "tool": not item.sort.consumed,
            "alike": [
                (row.pk, difference(item, row))
                for row in nearest(item, groups[item.kind, item.head, item.diameter_in])
            ],
        }
        for pk, item in items.items()
    }


def _assembly_row(
    assembly: Assembly, asks: Sequence[Asked] | None, items: Iterable[Item]
) -> AssemblyRow:
    """One without its asks is closed."""
    return {
        "name": f"{assembly.stage.name} / {assembly.name}",
        "closed": asks is None,
        "asks": {str(row.item.pk): row.remaining for row in asks or ()},
        "holds": {} if asks is None else _holds(assembly, items),
    }


def _holds(assembly: Assembly, items: Iterable[Item]) -> dict[str, int]:
    """Temporary fasteners the assembly still wants, by the item that would serve."""
    pool = [item for item in items if item.sort.holding]
    wanted = fasteners_wanted(assembly) if pool else {}
    there = quantities_at([assembly.place_id]) if wanted and assembly.place_id else {}
    place = assembly.place_id or 0
    left = {
        str(item.pk): wanted.get(fastener_for(item.size), 0)
        - there.get((place, item.pk), 0)
        for item in pool
    }
    return {pk: count for pk, count in left.items() if count > 0}


def bench_view(bench: Bench, now: datetime) -> dict[str, Any]:
    """The bench's whole screen as data."""
    state = state_of(bench, now)
    assembly = assembly_numbered(state.assembly) if state.assembly else None
    return {
        "bench": bench.key,
        "owner": bench.person_id,
        "person": _person_words(bench, state),
        "state": state.stored(),
        "assembly": assembly and _assembly_view(assembly),
        "last": [act_view(act) for act in last_of(bench)],
    }


def _person_words(bench: Bench, state: State) -> str:
    """Who is at the bench: the badge shown last, else who signed in."""
    if state.person is None:
        return str(bench.person)
    shown = User.objects.filter(pk=state.person, is_active=True).first()
    return str(shown or bench.person)


@dataclass(frozen=True)
class DeviceScans:
    """What came from one device: who scanned last and when, how many never arrived."""

    device: str
    person: str
    last: datetime
    came: int
    missing: int


def device_scans() -> list[DeviceScans]:
    """Every device that scans, the last heard of first; its numbers have no gaps.

    A gap is a scan that lies on the device still, or was lost with it.
    """
    latest = Scan.objects.filter(device=OuterRef("device")).order_by("-at", "-seq")
    rows = list(
        Scan.objects.exclude(device="")
        .values("device")
        .annotate(
            last=Max("at"),
            newest=Max("seq"),
            came=Count("seq", distinct=True),
            by=Subquery(latest.values("by_id")[:1]),
        )
        .order_by("-last")
    )
    names = User.objects.in_bulk([row["by"] for row in rows])
    return [
        DeviceScans(
            row["device"],
            str(names[row["by"]]),
            row["last"],
            row["came"],
            (row["newest"] or 0) - row["came"],
        )
        for row in rows
    ]


def number_is_taken(device: str, seq: int | None, scan_id: UUID) -> bool:
    """Whether another scan came under this number: two devices think they are one."""
    if not device or seq is None:
        return False
    return Scan.objects.filter(device=device, seq=seq).exclude(pk=scan_id).exists()


def _assembly_view(assembly: Assembly) -> dict[str, Any]:
    asks = asked_by(assembly)
    where: dict[int, list[Bin]] = {}
    for bin in bins_of(row.item.pk for row in asks):
        where.setdefault(bin.item_id, []).append(bin)
    there = quantities_at(bin.place_id for rows in where.values() for bin in rows)
    return {
        "id": assembly.pk,
        "name": assembly.name,
        "stage": assembly.stage.name,
        "asks": [
            {
                "item": row.item.pk,
                "words": row.item.words,
                "callout": row.item.callout,
                "need": row.need,
                "pulled": row.pulled,
                "remaining": row.remaining,
                "bins": [
                    {
                        "number": bin.number,
                        "spot": bin.spot,
                        "on_hand": there.get((bin.place_id, bin.item_id), 0),
                    }
                    for bin in where.get(row.item.pk, [])
                ],
            }
            for row in asks
        ],
    }


def last_of(bench: Bench, limit: int = 10) -> list[Act]:
    """The last acts of a bench, newest first."""
    rows = (
        Scan.objects.filter(bench=bench, act__isnull=False)
        .select_related("act__by", "act__bin__item", "act__undone_by", "act__undoes")
        .prefetch_related("act__movements__target", "act__movements__source")
        .order_by("-act_id")[:limit]
    )
    return [row.act for row in rows if row.act]


def act_view(act: Act) -> dict[str, Any]:
    """An act as a line on screen."""
    main = act.last_movement
    undone = getattr(act, "undone_by", None)
    return {
        "id": act.pk,
        "verb": act.verb,
        "words": act.bin.item.words if act.bin else "",
        "bin": act.bin.number if act.bin else None,
        "quantity": act.counted
        if act.counted is not None
        else (main.quantity if main else 0),
        "to": main.target.name if main else "",
        "by": str(act.by),
        "at": act.at.isoformat(),
        "undone": undone is not None,
        "reason": act.reason,
    }


def scan_flaws() -> Iterator[Flaw]:
    """Scans that are not what came, or did not do what they say.

    What is missing of a device's numbers is no flaw but a scan on its way.
    """
    for row in in_pages(Scan.objects.select_related("bench", "act")):
        if row.fingerprint != reading.scan_mark(row.bench.key, row.raw):
            yield Flaw(Invariant.ARRIVED, f"scan {row.pk} is not what came")
        if row.act is not None and row.act.scan_id != str(row.pk):
            yield Flaw(Invariant.ONCE, f"scan {row.pk} did not make {row.act}")
