"""What a bench must know of the shop, as plain data, and what that says of one code.

The server fills a `Snapshot` with what one scan needs; a bench that may lose its connection
is sent a whole one beforehand. Both read it by the same rules, so both say the same.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NotRequired, TypedDict

from inventory.errors import Refused
from inventory.ledger.rules import Verb
from inventory.scanning.rules import reading
from inventory.scanning.rules.reading import Code
from inventory.scanning.rules.saying import MOST_MINDED, say
from inventory.scanning.rules.states import OrderRow, State


class BinRow(TypedDict):
    """A bin: its item and what it holds by the record."""

    item: int
    spot: str
    on_hand: int


class ItemRow(TypedDict):
    """An item; `alike` lists its look-alikes, nearest first, and how it differs.

    `single`: it is taken one at a time, and each gets its own number. `usual` is the
    largest pack, order or need of it, 0 where nothing is known; `cold` a sentence where
    it is kept in the freezer.
    """

    words: str
    single: bool
    tool: bool
    usual: int
    cold: str
    alike: list[tuple[int, str]]


class AssemblyRow(TypedDict):
    """An assembly: what it still asks, by item's id; a closed one asks nothing."""

    name: str
    closed: bool
    asks: dict[str, int]
    holds: dict[str, int]


class Snapshot(TypedDict):
    """The shop as a bench sees it; keys are numbers as text, as JSON has them.

    `owed` are the orders that wait for an item, the oldest first; `names` the spellings
    of its items, for a device that goes on by itself.
    """

    bins: Mapping[str, BinRow]
    items: Mapping[str, ItemRow]
    assemblies: Mapping[str, AssemblyRow]
    bits: Mapping[str, str]
    people: Mapping[str, str]
    owed: Mapping[str, Sequence[OrderRow]]
    names: NotRequired[Mapping[str, int]]


@dataclass(frozen=True)
class AskedInstead:
    """What the assembly asks for in place of a bin's item."""

    item: int
    words: str
    where: str
    differs: str


@dataclass(frozen=True)
class BinFacts:
    """What the shop knows of a scanned bin.

    `asked` is None with no assembly open. A tool is used and comes back: no drawing
    asks for it, so none is ever the wrong one to take. `mind` names look-alikes.
    """

    number: int
    item: int
    words: str
    on_hand: int
    asked: int | None
    is_asked_for: bool
    instead: AskedInstead | None = None
    is_tool: bool = False
    mind: str = ""
    usual: int = 0
    cold: str = ""
    owed: Sequence[OrderRow] = ()


@dataclass(frozen=True)
class Facts:
    """What the reducer may know about the code it was given.

    `owed`: the orders that wait for what is open.
    """

    bin: BinFacts | None = None
    assembly_name: str = ""
    bit_words: str = ""
    person: str = ""
    supplier: str = ""
    owed: Sequence[OrderRow] = ()


def facts_in(shop: Snapshot, code: Code, state: State) -> Facts:
    """What the shop says of a code. Errors: `ledger.no_bin`, `planning.*`, `scan.*`."""
    number = code.number
    if code.type == reading.BIN:
        return Facts(bin=_bin(shop, number, state))
    if code.type == reading.ASSEMBLY:
        return Facts(assembly_name=_open_assembly(shop, number)["name"])
    if code.type == reading.TOOL:
        none = Refused("forecasting.no_bit", say("no_bit", number=number))
        return Facts(bit_words=_called(shop["bits"], number, none))
    if code.type == reading.PERSON:
        none = Refused("scan.no_person", say("no_person"))
        return Facts(person=_called(shop["people"], number, none))
    if state.pending:
        return Facts(owed=shop["owed"].get(str(state.pending.item), ()))
    if code.type == reading.ORDER and number:
        return Facts(supplier=_waiting_order(shop, number))
    return Facts()


def _waiting_order(shop: Snapshot, number: int) -> str:
    for rows in shop["owed"].values():
        for order, _pieces, supplier in rows:
            if order == number:
                return supplier
    raise Refused("scan.no_order", say("no_such_order", number=number))


def _called(rows: Mapping[str, str], number: int, none: Refused) -> str:
    words = rows.get(str(number))
    if words is None:
        raise none
    return words


def _open_assembly(shop: Snapshot, number: int) -> AssemblyRow:
    row = shop["assemblies"].get(str(number))
    if row is None:
        raise Refused(
            "planning.no_assembly",
            say("no_assembly", number=number),
        )
    if row["closed"]:
        raise Refused(
            "planning.closed",
            say("closed", name=row["name"]),
        )
    return row


def _bin(shop: Snapshot, number: int, state: State) -> BinFacts:
    row = shop["bins"].get(str(number))
    if row is None:
        raise Refused(
            "ledger.no_bin",
            say("no_bin", number=number),
        )
    item = shop["items"][str(row["item"])]
    receives = state.verb == Verb.RECEIVE
    is_open = state.assembly is not None
    open_one = shop["assemblies"].get(str(state.assembly)) if is_open else None
    asks = open_one["asks"] if open_one else {}
    mine = asks.get(str(row["item"]))
    asked = _tools_asked(item, row["item"], open_one) if item["tool"] else mine
    return BinFacts(
        number=number,
        item=row["item"],
        words=item["words"],
        on_hand=row["on_hand"],
        asked=asked,
        is_asked_for=mine is not None,
        instead=None if mine is not None else _instead(shop, item, asks),
        is_tool=item["tool"],
        mind=_mind(shop, row["item"]),
        usual=item["usual"],
        cold=item["cold"],
        owed=shop["owed"].get(str(row["item"]), ()) if receives else (),
    )


def _tools_asked(item: ItemRow, pk: int, assembly: AssemblyRow | None) -> int | None:
    """One bit; or the temporary fasteners the assembly still wants of this size."""
    if item["single"]:
        return 1
    return (assembly["holds"].get(str(pk)) if assembly else None) or None


def _instead(
    shop: Snapshot, item: ItemRow, asks: Mapping[str, int]
) -> AskedInstead | None:
    """The look-alike it does ask for, if any: half a length off is the trap."""
    for other, differs in item["alike"]:
        if asks.get(str(other)):
            words = shop["items"][str(other)]["words"]
            return AskedInstead(other, words, _where(shop, other), differs)
    return None


def _where(shop: Snapshot, item: int) -> str:
    """'bin 12, rack A' of an item's first bin; '' where no bin holds it."""
    rows = [(int(at), row) for at, row in shop["bins"].items() if row["item"] == item]
    if not rows:
        return ""
    number, row = min(rows, key=lambda pair: pair[0])
    return f"bin {number}, {row['spot']}" if row["spot"] else f"bin {number}"


def _mind(shop: Snapshot, item: int) -> str:
    """The look-alikes that stand in bins: 'bin 13 is half a length shorter'."""
    said = []
    for other, _differs in shop["items"][str(item)]["alike"]:
        where = _where(shop, other).split(",")[0]
        differs = dict(shop["items"][str(other)]["alike"]).get(item)
        if where and differs:
            said.append(say("look_alike", where=where, differs=differs))
    return "; ".join(said[:MOST_MINDED])
