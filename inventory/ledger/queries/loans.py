"""What is lent and borrowed: with whom, how many, since when, and when it is due back."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q
from django.utils.timezone import localdate

from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.ledger.models import Balance, DueBack, Movement, Place
from inventory.ledger.rules import NAMED_ONCE


@dataclass(frozen=True)
class Loan:
    """Units of an item that are with somebody, or are somebody's and here."""

    place: Place
    item: Item
    quantity: int
    is_lent: bool
    since: datetime
    due_on: date | None

    @property
    def is_overdue(self) -> bool:
        """Whether its day has gone by."""
        return self.due_on is not None and self.due_on < localdate()

    @property
    def words(self) -> str:
        """'12 lent to Kim', '4 borrowed from the next hangar'."""
        said = "lent to" if self.is_lent else "borrowed from"
        return f"{self.quantity:,} {said} {self.place.name}"


def loans(items: Iterable[int] | None = None) -> list[Loan]:
    """All that is out now; what is due first comes first, then what is out longest."""
    rows = Balance.objects.filter(place__kind__in=sorted(NAMED_ONCE))
    if items is not None:
        rows = rows.filter(item__in=list(items))
    due = {
        (row.place_id, row.item.became_id or row.item_id): row.due_on
        for row in DueBack.objects.select_related("item")
    }
    found = [
        Loan(
            row.place,
            row.item,
            abs(row.quantity),
            row.quantity > 0,
            _since(row),
            due.get((row.place_id, row.item_id)),
        )
        for row in rows.exclude(quantity=0).select_related("place", "item")
    ]
    return sorted(found, key=lambda row: (row.due_on or date.max, row.since))


def _since(row: Balance) -> datetime:
    """When the first of what is out now went: the record, back to where nothing was."""
    moves = Movement.objects.filter(
        Q(source=row.place) | Q(target=row.place), item=row.item_id
    ).order_by("-pk")
    found = None
    for at, source, source_after, target_after in moves.values_list(
        "act__at", "source_id", "source_after", "target_after"
    ):
        after = source_after if source == row.place_id else target_after
        if found is not None and after * row.quantity <= 0:
            break
        found = at
    if found is None:
        raise AssertionError(f"{row} has no movement")
    return found


def loan_of(place: int, item: int) -> Loan:
    """Errors: `ledger.no_loan`."""
    for row in loans([item]):
        if row.place.pk == place:
            return row
    raise Refused("ledger.no_loan", "Nothing of it is lent or borrowed there now.")
