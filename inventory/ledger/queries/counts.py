"""Reads of what counts say: how a balance is known, and what the counts found."""

from collections.abc import Collection

from django.db.models import Sum

from inventory.catalog.models import Item
from inventory.ledger import rules
from inventory.ledger.models import Act, Balance, Bin, Movement
from inventory.ledger.queries.sums import summed
from inventory.ledger.rules import Figure, Verb


def count_facts(items: Collection[int]) -> list[rules.CountFacts]:
    """How the balance of each bin of these items is known: by its last count, and what
    moved since."""
    rows = Bin.objects.filter(item__in=items).select_related("last_count")
    held = Balance.objects.filter(place__bin__item__in=items)
    there = dict(held.values_list("place_id", "quantity"))
    return [
        _count_facts(row, there.get(row.place_id, 0)) for row in rows.order_by("pk")
    ]


def _count_facts(bin: Bin, balance: int) -> rules.CountFacts:
    last = bin.last_count
    doubt = last.doubt if last else None
    return rules.CountFacts(
        bin_id=bin.pk,
        item_id=bin.item_id,
        balance=balance,
        stated=(last.counted if last else 0) or 0,
        doubt=None if doubt is None else float(doubt),
        counted_by_hand=last is not None and last.reason != rules.OPENING,
        moved=bin.moved_since,
    )


def known_since(bin: Bin) -> tuple[int | None, int]:
    """A bin's last count that stands, and the pieces moved after it, from all acts."""
    counts = Act.objects.filter(bin=bin, verb=Verb.COUNT, undone_by=None)
    last = counts.order_by("-pk").values_list("pk", flat=True).first()
    rows = Movement.objects.filter(act__gt=last or 0)
    went, came = (
        rows.filter(**side).aggregate(n=Sum("quantity"))["n"] or 0
        for side in ({"source": bin.place_id}, {"target": bin.place_id})
    )
    return last, int(went + came)


def count_record() -> tuple[float, int]:
    """What counts found: the sum of squared differences, and the pieces moved.

    Openings, a bin's first count and undone counts are no evidence.
    """
    squares = sum(summed(Figure.SQUARES).values())
    counted = set(Bin.objects.exclude(counted_at=None).values_list("place", flat=True))
    moved = sum(
        pieces
        for (one, other, *_), pieces in summed(Figure.MOVED).items()
        if one in counted or other in counted
    )
    return float(squares), moved


def uses_and_losses(kinds: Collection[str]) -> tuple[int, int]:
    """Of some kinds: how many went to work, and how many counts found lacking."""
    items = list(Item.objects.filter(kind__in=kinds).values_list("pk", flat=True))
    used = sum(summed(Figure.TO_WORK, what=items).values())
    return used, max(0, sum(summed(Figure.LACKING, what=items).values()))
