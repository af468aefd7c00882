"""What assemblies ask: need, what was pulled for it, and what stood in for it."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inventory.catalog.models import Item
from inventory.ledger.queries import quantities_at
from inventory.ledger.queries.standing import stands
from inventory.planning.models import Assembly, Need, Substitution
from inventory.prepared import Prepared

_NEEDS = Prepared(
    lambda assembly: Need.objects.filter(assembly=assembly).select_related("item")
)
_NEEDED = Prepared(
    lambda assemblies: (
        Need.objects.filter(assembly__in=assemblies)
        .order_by()
        .values_list("assembly_id", "item_id", "each")
    )
)
_STOOD_IN = Prepared(
    lambda assemblies: Substitution.objects.filter(
        stands("act"), assembly__in=assemblies
    ).values_list("assembly__place_id", "needed_id", "used_id", "quantity")
)


@dataclass(frozen=True)
class Tally:
    """What an assembly needs of an item, and what was pulled for it."""

    need: int
    pulled: int

    @property
    def remaining(self) -> int:
        """Need less what is there, never below zero."""
        return max(0, self.need - self.pulled)


@dataclass(frozen=True)
class Asked(Tally):
    """One item an assembly asks, by these callouts."""

    item: Item
    callouts: tuple[str, ...]


def stood_in(assemblies: Sequence[int]) -> dict[tuple[int, int], int]:
    """What substitutions add to and take from what was pulled, by assembly's place.

    The item whose need was met gains, the one that was used for it loses.
    """
    found: dict[tuple[int, int], int] = defaultdict(int)
    for place, needed, used, quantity in _STOOD_IN(assemblies):
        found[place or 0, needed] += quantity
        found[place or 0, used] -= quantity
    return dict(found)


def asked_by(assembly: Assembly) -> list[Asked]:
    """What an assembly asks of each item, equivalent callouts taken together."""
    tally = tallies([assembly])[assembly.pk]
    rows: dict[int, list[Need]] = defaultdict(list)
    for need in _NEEDS(assembly.pk):
        rows[need.item_id].append(need)
    return [
        Asked(
            item=needs[0].item,
            callouts=tuple(
                dict.fromkeys(need.callout for need in needs if need.callout)
            ),
            need=tally[item].need,
            pulled=tally[item].pulled,
        )
        for item, needs in rows.items()
    ]


def tallies(assemblies: Iterable[Assembly]) -> dict[int, dict[int, Tally]]:
    """What assemblies ask, by assembly and item, in three reads."""
    rows = {row.pk: row for row in assemblies}
    there = quantities_at([row.place_id for row in rows.values() if row.place_id])
    instead = stood_in(list(rows))
    need: dict[int, dict[int, int]] = {pk: defaultdict(int) for pk in rows}
    for pk, item, each in _NEEDED(list(rows)):
        need[pk][item] += each * rows[pk].how_many
    return {
        pk: {
            item: Tally(count, there.get(key, 0) + instead.get(key, 0))
            for item, count in items.items()
            for key in [(rows[pk].place_id or 0, item)]
        }
        for pk, items in need.items()
    }
