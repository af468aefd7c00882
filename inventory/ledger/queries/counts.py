"""Reads of what counts say: how a balance is known, and what the counts found."""

from collections import defaultdict
from collections.abc import Collection

from django.db.models import BigIntegerField, F, Q, Sum
from django.db.models.functions import Cast, Greatest, Least

from inventory.catalog.models import Item
from inventory.catalog.queries import look_alikes_of
from inventory.ledger import rules
from inventory.ledger.models import Act, Balance, Bin, CountFound, Movement
from inventory.ledger.queries.sums import summed
from inventory.ledger.rules import CountRecord, Figure, Found, Verb
from inventory.ledger.rules.replaying import Entry, Known, known
from inventory.prepared import Prepared

# What may say how many a bin holds.
STATING = (Verb.COUNT, Verb.LOOK)
_TOUCHING = Prepared(
    lambda place, item, after: Movement.objects.filter(
        Q(source=place) | Q(target=place), item=item, act__gte=after
    ).values_list("act_id", "source_id", "quantity", "source__kind", "target__kind")
)
# A count that found no difference moved nothing, nor did its undo.
_TELLING = Prepared(
    lambda moving, place, after: (
        Act.objects.filter(
            Q(pk__in=moving) | Q(bin__place=place, verb__in=[*STATING, Verb.UNDO]),
            pk__gte=after,
        )
        .select_related("bin")
        .order_by("pk")
    )
)
_HELD = Prepared(
    lambda place, item: Balance.objects.filter(place=place, item=item).values_list(
        "quantity"
    )
)
_KEPT = Prepared(
    lambda bin: (
        CountFound.objects.filter(bin=bin)
        .order_by("pk")
        .values_list("act", "difference", "moved")
    )
)


def count_facts(items: Collection[int]) -> list[rules.CountFacts]:
    """How the balance of each bin of these items is known: by its last count, and what
    moved since."""
    rows = Bin.objects.filter(item__in=items).select_related("last_count", "last_look")
    # A bin whose item was merged holds nothing of the other one.
    held = Balance.objects.filter(item__in=items, item=F("place__bin__item"))
    there = dict(held.values_list("place_id", "quantity"))
    return [
        _count_facts(row, there.get(row.place_id, 0)) for row in rows.order_by("pk")
    ]


def _count_facts(bin: Bin, balance: int) -> rules.CountFacts:
    last, look = bin.last_count, bin.last_look
    doubt = last.doubt if last else None
    return rules.CountFacts(
        bin_id=bin.pk,
        item_id=bin.item_id,
        balance=balance,
        stated=(last.counted if last else 0) or 0,
        doubt=None if doubt is None else float(doubt),
        counted_by_hand=last is not None and last.reason != rules.OPENING,
        moved=bin.moved_since,
        beside=last.beside if last else 0,
        look=rules.LookFacts(
            float(look.doubt or 0), bin.moved_since - bin.moved_at_look, look.beside
        )
        if look
        else None,
    )


def pulled(items: Collection[int]) -> dict[int, int]:
    """Units of some items that were pulled for assemblies so far, less what came back
    by being taken back."""
    found: dict[int, int] = defaultdict(int)
    for (_place, _other, what, *_rest), units in summed(
        Figure.TO_WORK, what=items
    ).items():
        found[what] += units
    return found


def pulled_beside(bin: Bin) -> int:
    """Units of a bin's look-alikes that were pulled for assemblies so far.

    Of those pulled later some may have come out of this bin.
    """
    beside = look_alikes_of([bin.item_id])[bin.item_id]
    return max(0, sum(pulled(beside).values())) if beside else 0


def known_of(place: int, item: int, after: int = 0) -> Known:
    """What is known of an item at a place, from its record; or from an act on.

    That act was a count, which stated what was there.
    """
    net: dict[int, int] = defaultdict(int)
    booked: dict[int, int] = defaultdict(int)
    moved: dict[int, int] = defaultdict(int)
    for act, source, pieces, *kinds in _TOUCHING(place, item, after):
        signed = -pieces if source == place else pieces
        net[act] += signed
        if rules.COUNT_DIFFERENCE in kinds:
            booked[act] += signed
        else:
            moved[act] += pieces
    entries = [
        Entry(
            act=row.pk,
            at=row.at,
            undoes=row.undoes_id,
            is_count=_is_at(row, place, Verb.COUNT),
            counted=row.counted,
            reason=row.reason,
            net=net[row.pk],
            by_difference=booked[row.pk],
            moved=moved[row.pk],
            rough=float(row.doubt or 0) if _is_at(row, place, Verb.LOOK) else None,
        )
        for row in _TELLING(list(net), place, after)
    ]
    held = _HELD.first(place, item)
    return known(entries, (held[0] if held else 0) - sum(net.values()))


def counts_found(bin: int) -> list[Found]:
    """What is kept of a bin's counts that stand, in their order."""
    return [Found(*row) for row in _KEPT(bin)]


def found_of(items: Collection[int]) -> dict[int, int]:
    """What counts that stand found over the record of items' bins; under nought, lacking."""
    rows = CountFound.objects.filter(bin__item__in=items).values("bin__item")
    return {
        row["bin__item"]: row["sum"] for row in rows.annotate(sum=Sum("difference"))
    }


def _is_at(act: Act, place: int, verb: Verb) -> bool:
    """Whether an act is a count of this place, or a look into it."""
    return act.verb == verb and act.bin is not None and act.bin.place_id == place


def count_record() -> CountRecord:
    """What the last counts teach of how far records stray."""
    rows = CountFound.objects.order_by("-pk").values_list("bin", "difference", "moved")
    return rules.count_record(list(rows[: rules.TELLING_COUNTS]))


def uses_and_losses(kinds: Collection[str]) -> tuple[int, int]:
    """Of some kinds: how many went to work, and how many counts found lacking.

    A count cannot find more lacking (or too many) than have moved since the one before.
    """
    items = list(Item.objects.filter(kind__in=kinds).values_list("pk", flat=True))
    used = sum(summed(Figure.TO_WORK, what=items).values())
    moved = Cast("moved", BigIntegerField())
    lacking = Least(Greatest(-F("difference"), -moved), moved)
    rows = CountFound.objects.filter(bin__item__in=items)
    lost = rows.aggregate(n=Sum(lacking, output_field=BigIntegerField()))["n"] or 0
    return used, max(0, int(lost))
