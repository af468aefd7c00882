"""Reads of what counts say: how a balance is known, and what the counts found."""

from collections.abc import Collection

from django.db.models import Min, Q, QuerySet, Sum

from inventory.ledger import rules
from inventory.ledger.models import Act, Balance, Bin, Movement
from inventory.ledger.rules import Verb


def count_facts() -> list[rules.CountFacts]:
    """How each bin's balance is known: by its last count, and what moved since."""
    rows = Bin.objects.select_related("last_count").order_by("pk")
    held = Balance.objects.filter(place__kind=rules.BIN)
    there = dict(held.values_list("place_id", "quantity"))
    return [_count_facts(row, there.get(row.place_id, 0)) for row in rows]


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
    found = _differences()
    squares = sum(quantity**2 for quantity in found.values_list("quantity", flat=True))
    counted = Bin.objects.exclude(counted_at=None).values("place")
    moved = Movement.objects.filter(
        Q(source__in=counted) | Q(target__in=counted)
    ).exclude(act__verb=Verb.COUNT)
    total = moved.aggregate(total=Sum("quantity"))["total"]
    return float(squares), int(total or 0)


def _differences() -> QuerySet[Movement]:
    """What counts found over or under, openings and first counts left out."""
    first = Act.objects.filter(verb=Verb.COUNT).order_by().values("bin")
    return (
        Movement.objects.filter(
            Q(source__kind=rules.COUNT_DIFFERENCE)
            | Q(target__kind=rules.COUNT_DIFFERENCE),
            act__verb=Verb.COUNT,
            act__undone_by=None,
            act__undoes=None,
        )
        .exclude(act__reason=rules.OPENING)
        .exclude(act__in=first.annotate(first=Min("pk")).values("first"))
    )


def uses_and_losses(kinds: Collection[str]) -> tuple[int, int]:
    """Of some kinds: how many went to work, and how many counts found lacking."""
    used = Movement.objects.filter(
        item__kind__in=kinds, source__kind=rules.BIN, target__kind=rules.ASSEMBLY
    )
    lost = Sum("quantity", filter=Q(target__kind=rules.COUNT_DIFFERENCE))
    back = Sum("quantity", filter=Q(source__kind=rules.COUNT_DIFFERENCE))
    net = _differences().filter(item__kind__in=kinds).aggregate(lost=lost, back=back)
    total = used.aggregate(total=Sum("quantity"))["total"] or 0
    return int(total), max(0, (net["lost"] or 0) - (net["back"] or 0))
