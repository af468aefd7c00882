"""What the plan asked of one item is asked of another: the two were merged, or parted."""

from collections.abc import Iterable
from typing import Any

from django.db.models import F

from inventory.catalog.models import Item
from inventory.planning.models import Need, Substitution

SAME = ("assembly_id", "callout", "origin")


def ask_of_other(*, old: Item, new: Item) -> dict[str, Any]:
    """Needs and substitutions of an item become another's; returns what moved.

    Where an assembly asks both by the same words, the one need asks for the sum.
    """
    moved: list[int] = []
    summed: list[dict[str, Any]] = []
    for need in Need.objects.filter(item=old):
        same = {name: getattr(need, name) for name in SAME}
        if Need.objects.filter(item=new, **same).update(each=F("each") + need.each):
            summed.append({**same, "each": need.each})
            need.delete()
        else:
            Need.objects.filter(pk=need.pk).update(item=new)
            moved.append(need.pk)
    needed, used = (
        Substitution.objects.filter(needed=old),
        Substitution.objects.filter(used=old),
    )
    found = {
        "needs": moved,
        "summed": summed,
        "needed": list(needed.values_list("pk", flat=True)),
        "used": list(used.values_list("pk", flat=True)),
    }
    needed.update(needed=new)
    used.update(used=new)
    return found


def ask_as_before(
    *,
    old: Item,
    new: Item,
    needs: Iterable[int] = (),
    summed: Iterable[dict[str, Any]] = (),
    needed: Iterable[int] = (),
    used: Iterable[int] = (),
) -> None:
    """Take that back for all that is still asked of `new`, and was of `old` before."""
    for row in summed:
        each = row["each"]
        same = {name: row[name] for name in SAME}
        asks = Need.objects.filter(item=new, each__gt=each, **same)
        if asks.update(each=F("each") - each):
            Need.objects.create(item=old, each=each, **same)
    Need.objects.filter(pk__in=list(needs), item=new).update(item=old)
    Substitution.objects.filter(pk__in=list(needed), needed=new).update(needed=old)
    Substitution.objects.filter(pk__in=list(used), used=new).update(used=old)
