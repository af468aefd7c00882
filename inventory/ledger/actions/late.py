"""Scans that arrive after their time: what a newer count has seen is not moved twice.

A device may be off line for hours. What it says happened then; the record goes on now.
"""

from datetime import datetime, timedelta

from django.db.models import Q, QuerySet, Sum

from inventory.ledger.actions.posting import Leg, Locked, ask_for_a_count, post
from inventory.ledger.models import Act, Bin, Movement

# Two clocks may differ so much: which came first is then not guessed but counted.
IN_DOUBT = timedelta(seconds=60)


def seen_by_counts(leg: Leg, act: Act) -> set[int]:
    """Which of a movement's bins were counted after its act happened, by place."""
    places = [leg.source, leg.target]
    counted = Bin.objects.filter(place__in=places, counted_at__gt=act.at)
    rows = list(counted.select_related("place"))
    for row in rows:
        if row.counted_at and row.counted_at - act.at < IN_DOUBT:
            _ask_again(row, act)
    return {row.place_id for row in rows}


def cover_seen(locked: Locked, act: Act, leg: Leg, seen: set[int]) -> None:
    """A newer count missed these pieces already: put back what the pull will take."""
    if leg.source.pk in seen:
        post(locked, act, Leg(leg.item_id, leg.quantity, locked.difference, leg.source))


def take_back_seen(locked: Locked, act: Act, leg: Leg, seen: set[int]) -> None:
    """A newer count held these pieces already: they are not added a second time."""
    if leg.target.pk in seen:
        post(locked, act, Leg(leg.item_id, leg.quantity, leg.target, locked.difference))


def counted_since(bin: Bin, at: datetime) -> bool:
    """Whether a newer count of the bin stands."""
    return Bin.objects.filter(pk=bin.pk, counted_at__gt=at).exists()


def moved_since(bin: Bin, at: datetime) -> int:
    """Units that came into a bin, less those that left it, after a time."""
    rows = _at_bin(bin, at)
    came = rows.filter(target=bin.place).aggregate(n=Sum("quantity"))["n"] or 0
    left = rows.filter(source=bin.place).aggregate(n=Sum("quantity"))["n"] or 0
    return int(came - left)


def ask_where_close(bin: Bin, count: Act) -> None:
    """Have a bin counted again where something moved within a minute of a count."""
    if _at_bin(bin, count.at).filter(act__at__lt=count.at + IN_DOUBT).exists():
        _ask_again(bin, count)


def _at_bin(bin: Bin, after: datetime) -> QuerySet[Movement]:
    ends = Q(source=bin.place) | Q(target=bin.place)
    return Movement.objects.filter(ends, item=bin.item_id, act__at__gt=after)


def _ask_again(bin: Bin, act: Act) -> None:
    reason = "a count and a movement within a minute: which came first?"
    ask_for_a_count(bin.place, reason, act)
