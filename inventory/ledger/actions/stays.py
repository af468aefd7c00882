"""Where each lot of an item may lie, told again from the acts that stand."""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Q

from inventory.ledger.models import Act, Bin, Lot, LotInBin, Movement
from inventory.ledger.queries.standing import in_force, stands
from inventory.ledger.rules import Verb


@dataclass
class _Stay:
    bin: int
    lot: int
    since: Movement
    emptied_by: int | None = None


def lots_again(item: int) -> None:
    """Set the stays of an item's lots in bins to what its acts that stand say.

    A lot that came by what was taken back was never there, nor where it was moved on to.
    """
    if not Lot.objects.filter(item=item).exists():
        return
    # What lay in a bin before its item was merged is of lots of the other one.
    kept = LotInBin.objects.filter(bin__item=item, lot__item=item)
    kept.delete()
    LotInBin.objects.bulk_create(
        LotInBin(
            bin_id=stay.bin,
            lot_id=stay.lot,
            since=stay.since,
            emptied_by_id=stay.emptied_by,
        )
        for stay in _told(item)
    )


def _told(item: int) -> list[_Stay]:
    bins = dict(Bin.objects.filter(item=item).values_list("place", "pk"))
    came = Movement.objects.filter(in_force(), item=item, target__in=list(bins))
    came = came.filter(~Q(lot=None) | Q(source__in=list(bins)))
    empty = Act.objects.filter(stands(), verb=Verb.COUNT, bin__item=item, counted=0)
    events: list[tuple[int, Movement | Act]] = [
        *((row.act_id, row) for row in came.order_by("pk")),
        *((act.pk, act) for act in empty if not _was_late(act)),
    ]
    events.sort(key=lambda event: event[0])
    stays: list[_Stay] = []
    inside: dict[int, dict[int, _Stay]] = defaultdict(dict)
    for _act, event in events:
        if isinstance(event, Act):
            for stay in inside.pop(event.bin_id or 0, {}).values():
                stay.emptied_by = event.pk
            continue
        target, source = bins[event.target_id], bins.get(event.source_id, 0)
        for lot in [event.lot_id] if event.lot_id else list(inside[source]):
            if lot not in inside[target]:
                inside[target][lot] = _Stay(target, lot, event)
                stays.append(inside[target][lot])
    return stays


def _was_late(count: Act) -> bool:
    """Whether a newer count stood already: then this one said nothing of the bin."""
    newer = Act.objects.filter(stands(), bin=count.bin, verb=Verb.COUNT)
    return newer.filter(pk__lt=count.pk, at__gt=count.at).exists()
