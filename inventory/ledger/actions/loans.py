"""When what is lent or borrowed is due back."""

from datetime import date

from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.ledger.models import DueBack
from inventory.ledger.queries import Place


def due_back(*, place: Place, item: Item, on: date | None, today: date) -> None:
    """Say when it is to be back, or that nobody said. Errors: `ledger.due`."""
    if on is not None and on < today:
        raise Refused(
            "ledger.due", "The day it is due back is past: choose today or a later one."
        )
    mine = DueBack.objects.filter(place=place, item__in=[item, *item.was.all()])
    mine.delete()
    if on is not None:
        DueBack.objects.create(place=place, item=item, due_on=on)
