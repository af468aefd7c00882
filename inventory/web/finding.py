"""One search for everything: bins, items, assemblies, orders, lots, people, what is late."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from inventory import days
from inventory.catalog import queries as catalog
from inventory.errors import Refused
from inventory.ledger import queries as ledger
from inventory.ledger.queries.loans import loans
from inventory.ledger.queries.lots import lots_like
from inventory.ordering import queries as ordering
from inventory.people.queries import people
from inventory.planning.queries import assemblies_like, assembly_numbered
from inventory.scanning.rules import reading

# More of one group than this is no find: another word is wanted.
MOST = 12
LATE = ("late", "overdue")
_PAGES = {
    reading.BIN: ("bin", ledger.bin_numbered),
    reading.ORDER: ("order", ordering.order_numbered),
    reading.ASSEMBLY: ("assembly", assembly_numbered),
}


@dataclass(frozen=True)
class Hit:
    """One thing found: its words, what stands beside them, its page and number there.

    `asked` is what that page is asked for, as its address ends.
    """

    words: str
    more: str
    page: str
    key: int | None = None
    asked: str = ""


@dataclass(frozen=True)
class Group:
    """What was found of one kind of thing; `rest` is whether there may be more."""

    name: str
    hits: Sequence[Hit]

    @property
    def rest(self) -> bool:
        """Whether it was cut short."""
        return len(self.hits) >= MOST


def one_page(text: str) -> tuple[str, int] | None:
    """The page that a code, 'bin 12' or 'order 3' names outright, where there is one."""
    try:
        code = reading.read_code(text)
        if code.type not in _PAGES:
            return None
        page, numbered = _PAGES[code.type]
        numbered(code.number)
    except Refused:
        return None
    return page, code.number


def found(text: str, today: date) -> list[Group]:
    """All that a person's words may mean, in groups; nothing where nothing fits."""
    if not text:
        return []
    groups = [
        Group("Late", list(_late(today))[:MOST] if text.lower() in LATE else []),
        Group("Bins", list(_bins(text))),
        Group("Items", list(_items(text))),
        Group("Assemblies", list(_assemblies(text))),
        Group("Orders", list(_orders(text))),
        Group("Suppliers", list(_suppliers(text))),
        Group("Lots", list(_lots(text))),
        Group("People", list(_people(text))),
    ]
    return [each for each in groups if each.hits]


def _bins(text: str) -> Iterator[Hit]:
    rows = ledger.bins_after(0, MOST, text=text)
    there = ledger.quantities_at(row.place_id for row in rows)
    for row in rows:
        held = f"{there.get((row.place_id, row.item_id), 0):,} {row.item.unit}"
        more = f"{held}, {row.spot}" if row.spot else held
        yield Hit(f"bin {row.number}: {row.item.words}", more, "bin", row.number)


def _items(text: str) -> Iterator[Hit]:
    for row in catalog.search(text)[:MOST]:
        yield Hit(row.words, row.callout, "item", row.pk)


def _assemblies(text: str) -> Iterator[Hit]:
    for row in assemblies_like(text, MOST):
        state = row.get_state_display()
        yield Hit(f"{row.stage.name} / {row.name}", state, "assembly", row.pk)


def _orders(text: str) -> Iterator[Hit]:
    for row in ordering.orders_like(text, MOST):
        more = f"{row.reference} placed {days.said(row.placed_on)}".strip()
        yield Hit(f"order {row.number}: {row.supplier.name}", more, "order", row.number)


def _suppliers(text: str) -> Iterator[Hit]:
    for row in ordering.suppliers_like(text, MOST):
        yield Hit(row.name, "", "supplier", row.pk)


def _lots(text: str) -> Iterator[Hit]:
    for row in lots_like(text, MOST):
        yield Hit(f"lot {row.name}", row.item.words, "lot", row.pk)


def _people(text: str) -> Iterator[Hit]:
    for row in people():
        if text.lower() in f"{row.username} {row.first_name}".lower():
            yield Hit(str(row), "what they did", "acts", asked=f"?by={row.pk}")


def _late(today: date) -> Iterator[Hit]:
    """Parcels past their day, and what was due back."""
    for row in ordering.overdue(today):
        order = row.line.order
        said = f"expected {days.said(order.expected_on)} from {order.supplier.name}"
        yield Hit(
            f"order {order.number}: {row.line.item.words}", said, "order", order.number
        )
    for loan in loans():
        if loan.due_on is not None and loan.is_overdue:
            yield Hit(loan.words, f"due back {days.said(loan.due_on)}", "lent")
