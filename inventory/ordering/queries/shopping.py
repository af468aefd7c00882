"""What to ask a supplier for: an order as its list to send, with their numbers and prices."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.ordering.models import Offer, Order, OrderLine, Supplier
from inventory.ordering.queries import still_owed
from inventory.ordering.rules.packs import pack_words

HEADER = ("their_number", "callout", "words", "packs", "pack", "price", "cost")
NOTHING = Decimal("0.00")


@dataclass(frozen=True)
class Wanted:
    """One line: packs of an item as the supplier sells it; no price where none is noted."""

    line: OrderLine
    their_number: str
    price: Decimal | None

    @property
    def pack(self) -> str:
        """What a pack is: '250', or '113.4 g'."""
        return pack_words(self.line.pack_pieces, self.line.pack_grams)

    @property
    def cost(self) -> Decimal | None:
        """What its packs cost together."""
        return None if self.price is None else self.price * self.line.packs


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
        hazardous = any(row.line.item.sort.hazardous for row in self.lines)
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
            f"{row.their_number or row.line.item.callout}\t"
            f"{row.line.packs} x {row.pack}\t{row.line.item.title}"
            for row in self.lines
        )

    def rows(self) -> Iterator[tuple[object, ...]]:
        """Under HEADER, for a file or to copy."""
        for row in self.lines:
            item = row.line.item
            yield (
                row.their_number,
                item.callout,
                item.words,
                row.line.packs,
                row.pack,
                "" if row.price is None else row.price,
                "" if row.cost is None else row.cost,
            )


def shopping_list(order: Order) -> ShoppingList:
    """The lines of an order that still owe something, as its supplier calls them."""
    lines = [owed.line for owed in still_owed(order)]
    offers = Offer.objects.filter(supplier=order.supplier).prefetch_related("breaks")
    sold = {(row.item_id, row.pack, row.pack_grams): row for row in offers}
    numbers = {row.item_id: row.their_number for row in offers if row.their_number}
    found = []
    for line in lines:
        offer = sold.get((line.item_id, line.pack_pieces, line.pack_grams))
        number = offer.their_number if offer else ""
        price = _price(offer, line.packs) if offer else None
        found.append(Wanted(line, number or numbers.get(line.item_id, ""), price))
    return ShoppingList(order.supplier, found)


def _price(offer: Offer, packs: int) -> Decimal | None:
    """Of a pack, where so many are taken: the cheapest that they qualify for."""
    reached = [row.price for row in offer.breaks.all() if row.from_packs <= packs]
    return None if offer.price is None else min([offer.price, *reached])
