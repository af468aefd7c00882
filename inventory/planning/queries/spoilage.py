"""What the record of assemblies says of spoilage: the last ones, over every build."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import F
from django.utils.timezone import localdate

from inventory.ledger.queries import pulled_most_by, quantities_at, scrapped_from
from inventory.planning.models import CLOSED, Assembly, Need
from inventory.planning.queries.asking import stood_in
from inventory.planning.rules.evidence import TELLING, evidence


@dataclass(frozen=True)
class Record:
    """What one assembly's record says of one item, as evidence of spoilage.

    `by` is who pulled most of it, None where nobody did; `closed_on` the day it was
    closed, None while it is open.
    """

    item_id: int
    good: int
    bad: int
    by: int | None = None
    closed_on: date | None = None


def spoilage_record() -> list[Record]:
    """Evidence by assembly and item, in the order of closing, what is open last.

    Of the last TELLING assemblies, over every build: what was before teaches no more.
    """
    last = _last_assemblies()
    places = [row.place_id or 0 for row in last]
    there, scrapped = quantities_at(places), scrapped_from(places)
    instead, hands = stood_in([row.pk for row in last]), pulled_most_by(places)
    needs = _needs_of(last)
    found = []
    for assembly in last:
        for item, need in needs[assembly.pk].items():
            key = (assembly.place_id or 0, item)
            spoiled, hand = scrapped.get(key, 0), hands.get(key)
            here = there.get(key, 0) + instead.get(key, 0)
            seen = evidence(need, here, spoiled, closed=assembly.state == CLOSED)
            if seen is not None:
                found.append(Record(item, *seen, hand, _closed_on(assembly)))
    return found


def _closed_on(assembly: Assembly) -> date | None:
    return localdate(assembly.closed_at) if assembly.closed_at else None


def _last_assemblies() -> list[Assembly]:
    """Those that were last begun or closed, the last one last."""
    rows = Assembly.objects.exclude(place=None).order_by(
        F("closed_at").desc(nulls_first=True),
        F("started_at").desc(nulls_first=True),
        "-place_id",
    )
    return list(
        reversed(rows.only("place", "state", "how_many", "closed_at")[:TELLING])
    )


def _needs_of(assemblies: Collection[Assembly]) -> dict[int, dict[int, int]]:
    """What each assembly asks in all, by item."""
    made = {row.pk: row.how_many for row in assemblies}
    found: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    rows = Need.objects.filter(assembly__in=made).order_by("item", "pk")
    for assembly, item, each in rows.values_list("assembly_id", "item_id", "each"):
        found[assembly][item] += each * made[assembly]
    return found
