"""What a bench needs to know: facts about a code, its assembly's asks, its last acts."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q

from inventory.catalog.models import Item
from inventory.catalog.queries import look_alikes, nearest, spellings_of
from inventory.forecasting.models import Bit
from inventory.forecasting.queries.tools import fastener_for, fasteners_wanted
from inventory.forecasting.rules.bits import BitState
from inventory.ledger.queries import (
    Act,
    Bin,
    Movement,
    Place,
    bins_of,
    newest_act,
    quantities_at,
    shelf_of,
    telling,
)
from inventory.ledger.rules import ASSEMBLY, BIN, SUPPLIER, Verb
from inventory.ordering.queries import Owed, lines_of, still_owed
from inventory.ordering.queries.usual import usual_of
from inventory.people.models import User
from inventory.planning.models import CLOSED, Assembly
from inventory.planning.queries import assembly_numbered
from inventory.planning.queries.asking import Tally, asked_by, tallies
from inventory.prepared import Prepared
from inventory.scanning.models import Bench, Scan
from inventory.scanning.rules import reading
from inventory.scanning.rules.facts import (
    AssemblyRow,
    Facts,
    ItemRow,
    Snapshot,
    facts_in,
)
from inventory.scanning.rules.reading import Code
from inventory.scanning.rules.saying import ACTIONS, IDLE_HOURS
from inventory.scanning.rules.states import OrderRow, State
from inventory.trade.likeness import difference

GONE = (BitState.BROKEN,)
_IN_BIN = Prepared(lambda number: Item.objects.filter(bins__number=number).order_by())
_UNDER_NUMBER = Prepared(
    lambda device, seq: (
        Scan.objects.filter(device=device, seq=seq).order_by().values_list("pk")
    )
)
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
    return facts_in(shop_for(code, state, late=late), code, state)


def shop_for(code: Code, state: State, *, late: bool = False) -> Snapshot:
    """As much of the shop as one code at one bench needs."""
    known = _Known()
    if code.type == reading.ASSEMBLY:
        known.assemblies = list(
            Assembly.objects.select_related("stage").filter(pk=code.number)
        )
    if code.type == reading.BIN:
        known.items = {
            row.pk: row
            for item in _IN_BIN(code.number)
            for row in (item, *look_alikes(item))
        }
        if state.assembly:
            known.assemblies = [assembly_numbered(state.assembly)]
    if code.type == reading.TOOL:
        known.bits = list(Bit.objects.select_related("item").filter(number=code.number))
    if code.type == reading.PERSON:
        known.people = list(User.objects.filter(pk=code.number, is_active=True))
    if _tells_orders(code, state):
        item = state.pending.item if state.pending else 0
        known.owed = still_owed(items=known.items or [item])
    elif code.type == reading.ORDER:
        known.owed = lines_of(code.number, complete=late)
    return known.as_snapshot(late=late)


def _tells_orders(code: Code, state: State) -> bool:
    """Whether it matters here which orders wait for a bin's item."""
    if code.type == reading.BIN:
        return state.verb == Verb.RECEIVE
    if code.type == reading.ACTION:
        return ACTIONS[code.number] is Verb.RECEIVE and state.pending is not None
    return code.type == reading.ORDER and state.pending is not None


def whole_shop() -> Snapshot:
    """All a bench needs to go on without a connection."""
    assemblies = list(Assembly.objects.select_related("stage"))
    items = Item.objects.filter(Q(bins__isnull=False) | Q(needs__isnull=False))
    known = _Known(
        {row.pk: row for row in items.distinct()},
        assemblies,
        list(Bit.objects.select_related("item").exclude(state__in=GONE)),
        list(User.objects.filter(is_active=True)),
        still_owed(),
    )
    return {**known.as_snapshot(), "names": spellings_of(known.items)}


@dataclass
class _Known:
    """What of the shop goes into a snapshot."""

    items: Mapping[int, Item] = field(default_factory=dict)
    assemblies: Sequence[Assembly] = ()
    bits: Sequence[Bit] = ()
    people: Sequence[User] = ()
    owed: Sequence[Owed] = ()

    def as_snapshot(self, *, late: bool = False) -> Snapshot:
        """For a late scan a closed assembly is as open as it was then."""
        open_ones = {
            row.pk: row for row in self.assemblies if row.state != CLOSED or late
        }
        asks = tallies(open_ones.values()) if self.items else {}
        return Snapshot(
            bins={
                str(row.number): {
                    "item": row.item,
                    "spot": row.spot,
                    "on_hand": row.on_hand,
                }
                for row in shelf_of(self.items)
            },
            items=_item_rows(self.items),
            assemblies={
                str(row.pk): _assembly_row(
                    row, asks.get(row.pk, {}), self.items.values()
                )
                if row.pk in open_ones
                else _closed_row(row)
                for row in self.assemblies
            },
            bits={
                str(bit.number): f"Bit {bit.number}, {bit.item.words}"
                for bit in self.bits
            },
            people={str(each.pk): str(each) for each in self.people},
            owed=_owed_rows(self.owed),
        )


def _owed_rows(owed: Iterable[Owed]) -> dict[str, list[OrderRow]]:
    """By item: the orders that wait for it, two lines of one order together."""
    found: dict[str, dict[int, OrderRow]] = defaultdict(dict)
    for row in owed:
        order, rows = row.line.order, found[str(row.line.item_id)]
        before = rows[order.number][1] if order.number in rows else 0
        said = (order.number, before + row.pieces, order.supplier.name)
        rows[order.number] = said
    return {item: list(rows.values()) for item, rows in found.items()}


def _item_rows(items: Mapping[int, Item]) -> dict[str, ItemRow]:
    usual = usual_of(items) if items else {}
    groups: dict[tuple[object, ...], list[Item]] = defaultdict(list)
    for item in items.values():
        groups[item.kind, item.head, item.diameter_in].append(item)
    return {
        str(pk): {
            "words": item.title if item.unit == "pcs" else item.measured,
            "single": item.sort.one_at_a_time,
            "tool": not item.sort.consumed,
            "usual": usual[pk],
            "cold": item.cold_words,
            "alike": [
                (row.pk, difference(item, row))
                for row in nearest(item, groups[item.kind, item.head, item.diameter_in])
            ],
        }
        for pk, item in items.items()
    }


def _assembly_row(
    assembly: Assembly, asks: Mapping[int, Tally], items: Iterable[Item]
) -> AssemblyRow:
    return {
        "name": f"{assembly.stage.name} / {assembly.name}",
        "closed": False,
        "asks": {str(item): tally.remaining for item, tally in asks.items()},
        "holds": _holds(assembly, items),
    }


def _closed_row(assembly: Assembly) -> AssemblyRow:
    name = f"{assembly.stage.name} / {assembly.name}"
    return {"name": name, "closed": True, "asks": {}, "holds": {}}


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
    rows = Assembly.objects.select_related("stage", "place")
    assembly = rows.filter(pk=state.assembly).first() if state.assembly else None
    if state.assembly and assembly is None:
        # It was dropped from the plan meanwhile: the bench chooses another.
        state = State(person=state.person)
    return {
        **state_view(bench, state),
        "newest": newest_act(),
        "assembly": assembly and _assembly_view(assembly),
        "last": [act_view(act) for act in last_of(bench)],
    }


def state_view(bench: Bench, state: State) -> dict[str, Any]:
    """Whose bench it is, who is at it, and where it stands."""
    return {
        "bench": bench.key,
        "owner": bench.person_id,
        "person": _person_words(bench, state),
        "state": state.stored(),
    }


def _person_words(bench: Bench, state: State) -> str:
    """Who is at the bench: the badge shown last, else who signed in."""
    if state.person is None:
        return str(bench.person)
    shown = User.objects.filter(pk=state.person, is_active=True).first()
    return str(shown or bench.person)


def number_is_taken(device: str, seq: int | None, scan_id: UUID) -> bool:
    """Whether another scan came under this number: two devices think they are one."""
    if not device or seq is None:
        return False
    return any(pk != scan_id for (pk,) in _UNDER_NUMBER(device, seq))


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
                "words": row.item.measured,
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


def change_view(act: Act, moved: Sequence[Movement]) -> dict[str, Any]:
    """What a fresh act changed of what a bench shows: its line, bins, what is asked.

    `undoes`: the line that is taken back by it. `asks` are those of the assembly that
    pieces went to or came from.
    """
    ends = [
        (place, row.item_id, left)
        for row in moved
        for place, left in (
            (row.source, row.source_after),
            (row.target, row.target_after),
        )
    ]
    at = [place.assembly for place, _item, _left in ends if place.kind == ASSEMBLY]
    assembly = at[0] if at else None
    asks = tallies([assembly])[assembly.pk] if assembly else {}
    return {
        "line": _line(act, telling(moved), is_undone=False),
        "undoes": act.undoes_id,
        "bins": {
            str(_number_of(act, place)): left
            for place, _item, left in ends
            if place.kind == BIN
        },
        "owed": _owed_now(ends),
        "assembly": assembly and assembly.pk,
        "asks": {
            str(item): {"pulled": asks[item].pulled, "remaining": asks[item].remaining}
            for item in asks
        },
    }


def _owed_now(ends: Iterable[tuple[Place, int, int]]) -> dict[str, list[OrderRow]]:
    """What orders still wait for, of what has come or was taken back."""
    came = {item for place, item, _left in ends if place.kind == SUPPLIER}
    none: dict[str, list[OrderRow]] = {str(item): [] for item in came}
    return {**none, **_owed_rows(still_owed(items=came))} if came else {}


def _number_of(act: Act, place: Place) -> int:
    if act.bin is not None and act.bin.place_id == place.pk:
        return act.bin.number
    return place.bin.number


def act_view(act: Act) -> dict[str, Any]:
    """An act as a line on screen."""
    is_undone = getattr(act, "undone_by", None) is not None
    return _line(act, act.told_by, is_undone=is_undone)


def _line(act: Act, main: Movement | None, *, is_undone: bool) -> dict[str, Any]:
    return {
        "id": act.pk,
        "verb": act.verb,
        "words": act.bin.item.measured if act.bin else "",
        "bin": act.bin.number if act.bin else None,
        "quantity": act.counted
        if act.counted is not None
        else (main.quantity if main else 0),
        "to": main.target.name if main else "",
        "by": str(act.by),
        "at": act.at.isoformat(),
        "undone": is_undone,
        "reason": act.reason,
    }
