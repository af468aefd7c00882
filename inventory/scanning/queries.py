"""What a bench needs to know: facts about a code, its assembly's asks, its last acts."""

from datetime import datetime, timedelta
from typing import Any

from inventory.catalog.queries import neighbours_of
from inventory.errors import Refused
from inventory.forecasting.queries.tools import bit_numbered, fasteners_wanted, holder
from inventory.ledger.queries import Act, Bin, bin_numbered, bins, held, held_in
from inventory.planning.models import Assembly
from inventory.planning.queries import Asked, asked_by, assembly_numbered
from inventory.scanning.models import Bench, Scan
from inventory.scanning.rules import reading
from inventory.scanning.rules.bench import BinFacts, Facts, State
from inventory.scanning.rules.reading import Code

IDLE = timedelta(hours=4)


def state_of(bench: Bench, now: datetime) -> State:
    """The bench's state; after four idle hours it is free again."""
    if now - bench.changed_at > IDLE:
        return State()
    return State.restored(bench.state)


def facts_for(code: Code, state: State) -> Facts:
    """What the shop knows about a code. Errors: `ledger.no_bin` and its like."""
    if code.type == reading.BIN:
        return Facts(bin=_bin_facts(bin_numbered(code.number), state))
    if code.type == reading.ASSEMBLY:
        row = assembly_numbered(code.number)
        if row.state == "closed":
            raise Refused(
                "planning.closed",
                f"{row.name} is closed: re-open it on its page, or choose another.",
            )
        return Facts(assembly_name=f"{row.stage.name} / {row.name}")
    if code.type == reading.TOOL:
        bit = bit_numbered(code.number)
        return Facts(bit_words=f"Bit {bit.number}, {bit.item.words}")
    return Facts()


def _bin_facts(bin: Bin, state: State) -> BinFacts:
    assembly = assembly_numbered(state.assembly) if state.assembly else None
    asks = asked_by(assembly) if assembly else []
    mine = next((row for row in asks if row.item.pk == bin.item_id), None)
    asked = mine.remaining if mine else None
    if not bin.item.is_consumed:
        asked = _tools_asked(bin, assembly)
    return BinFacts(
        number=bin.number,
        item=bin.item_id,
        words=bin.item.title,
        on_hand=held_in(bin),
        asked=asked,
        is_asked_for=mine is not None,
        instead="" if mine else _instead(bin, asks),
        is_tool=not bin.item.is_consumed,
    )


def _tools_asked(bin: Bin, assembly: Assembly | None) -> int | None:
    """One bit; or the temporary fasteners the assembly still wants of this size."""
    if bin.item.kind == "drill":
        return 1
    if bin.item.kind != "temporary_fastener" or assembly is None:
        return None
    wanted = fasteners_wanted(assembly).get(holder(bin.item.size), 0)
    place = assembly.place_id or 0
    return max(0, wanted - held([place]).get((place, bin.item_id), 0)) or None


def _instead(bin: Bin, asks: list[Asked]) -> str:
    """What it does ask for, its look-alike first: half a length off is the trap."""
    alike = set(neighbours_of(bin.item).values_list("pk", flat=True))
    wanted = [row for row in asks if row.item.pk in alike and row.remaining]
    if not wanted:
        return "Put it back."
    where = bins().filter(item=wanted[0].item).first()
    spot = f", bin {where.number} {where.spot}".rstrip() if where else ""
    return f"It asks for {wanted[0].item.title}{spot}: the length is another."


def bench_view(bench: Bench, now: datetime) -> dict[str, Any]:
    """The bench's whole screen as data."""
    state = state_of(bench, now)
    assembly = assembly_numbered(state.assembly) if state.assembly else None
    return {
        "bench": bench.key,
        "person": str(bench.person),
        "state": state.stored(),
        "assembly": assembly and _assembly_view(assembly),
        "last": [act_view(act) for act in last_of(bench)],
    }


def _assembly_view(assembly: Assembly) -> dict[str, Any]:
    asks = asked_by(assembly)
    where: dict[int, list[Bin]] = {}
    for bin in bins().filter(item__in=[row.item.pk for row in asks]):
        where.setdefault(bin.item_id, []).append(bin)
    there = held(bin.place_id for rows in where.values() for bin in rows)
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
        Scan.objects.filter(bench=bench)
        .exclude(act=None)
        .select_related("act__by", "act__bin__item", "act__undone_by", "act__undoes")
        .prefetch_related("act__movements__target", "act__movements__source")
        .order_by("-act_id")[:limit]
    )
    return [row.act for row in rows if row.act]


def act_view(act: Act) -> dict[str, Any]:
    """An act as a line on screen."""
    moved = act.movements.all()
    main = list(moved)[-1] if moved else None
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
