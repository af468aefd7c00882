"""What to ask a supplier for: an order, or all that waits, with their numbers and prices."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.catalog.models import Item
from inventory.ordering.models import Offer, Order, OrderLine, Supplier
from inventory.ordering.queries import still_owed
from inventory.ordering.rules.packs import pack_words

HEADER = ("their_number", "callout", "words", "packs", "pack", "price", "cost")
NOTHING = Decimal("0.00")


@dataclass(frozen=True)
class Wanted:
    """One line: packs of an item as the supplier sells it; no price where none is noted."""

    item: Item
    packs: int
    pack: str
    their_number: str
    price: Decimal | None

    @property
    def cost(self) -> Decimal | None:
        """What its packs cost together."""
        return None if self.price is None else self.price * self.packs


@dataclass(frozen=True)
class ShoppingList:
    """What an order asks of its supplier, and what that costs by the prices of now."""

    supplier: Supplier
    lines: Sequence[Wanted]

    @property
    def goods(self) -> Decimal:
        """What all lines with a price cost."""
        return sum((row.cost or NOTHING for row in self.lines), NOTHING)

    @property
    def without_price(self) -> int:
        """Lines that nobody noted a price for."""
        return sum(row.price is None for row in self.lines)

    @property
    def shipping(self) -> Decimal:
        """Nothing from so many goods on; with the fee where something is hazardous."""
        terms = self.supplier
        is_free = not self.lines or (
            terms.free_from is not None and self.goods >= terms.free_from
        )
        hazardous = any(row.item.sort.hazardous for row in self.lines)
        fee = terms.hazard_fee if hazardous else NOTHING
        return fee + (NOTHING if is_free else terms.shipping)

    @property
    def total(self) -> Decimal:
        """Goods and shipping."""
        return self.goods + self.shipping

    @property
    def under_minimum(self) -> Decimal:
        """How much the goods lack of the supplier's smallest order."""
        return max(NOTHING, self.supplier.minimum - self.goods)

    @property
    def text(self) -> str:
        """To copy: a line each, its cells parted by tabs."""
        return "\n".join(
            f"{row.their_number or row.item.callout}\t"
            f"{row.packs} x {row.pack}\t{row.item.title}"
            for row in self.lines
        )

    def rows(self) -> Iterator[tuple[object, ...]]:
        """Under HEADER, for a file or to copy."""
        for row in self.lines:
            yield (
                row.their_number,
                row.item.callout,
                row.item.words,
                row.packs,
                row.pack,
                "" if row.price is None else row.price,
                "" if row.cost is None else row.cost,
            )


def of_order(order: Order) -> ShoppingList:
    """The lines of an order that still owe something, as its supplier calls them."""
    return _listed(order.supplier, [owed.line for owed in still_owed(order)])


def of_supplier(supplier: Supplier) -> ShoppingList:
    """All that this supplier's orders wait for; the same pack of two orders is one line."""
    lines = [owed.line for owed in still_owed()]
    return _listed(
        supplier, [line for line in lines if line.order.supplier_id == supplier.pk]
    )


def _listed(supplier: Supplier, lines: Iterable[OrderLine]) -> ShoppingList:
    offers = Offer.objects.filter(supplier=supplier).prefetch_related("breaks")
    sold = {(row.item_id, row.pack, row.pack_grams): row for row in offers}
    numbers = {row.item_id: row.their_number for row in offers if row.their_number}
    packs: Counter[tuple[int, int | None, Decimal | None]] = Counter()
    items: dict[int, Item] = {}
    for line in lines:
        items[line.item_id] = line.item
        packs[line.item_id, line.pack_pieces, line.pack_grams] += line.packs
    found = []
    for (item, pieces, grams), number in packs.items():
        offer = sold.get((item, pieces, grams))
        found.append(
            Wanted(
                items[item],
                number,
                pack_words(pieces, grams),
                (offer.their_number if offer else "") or numbers.get(item, ""),
                _price(offer, number) if offer else None,
            )
        )
    return ShoppingList(supplier, found)


def _price(offer: Offer, packs: int) -> Decimal | None:
    """Of a pack, where so many are taken: the cheapest that they qualify for."""
    reached = [row.price for row in offer.breaks.all() if row.from_packs <= packs]
    return None if offer.price is None else min([offer.price, *reached])
