"""Reads of the ledger; rooms above see its rows only through here."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import F, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from inventory.catalog.models import Item
from inventory.catalog.queries import search
from inventory.errors import Refused
from inventory.ledger import rules
from inventory.ledger.models import Act as Act
from inventory.ledger.models import Balance as Balance
from inventory.ledger.models import Bin as Bin
from inventory.ledger.models import LedgerCheck, Recheck
from inventory.ledger.models import Lot as Lot
from inventory.ledger.models import Movement as Movement
from inventory.ledger.models import Place as Place
from inventory.ledger.models import telling as telling
from inventory.ledger.queries.checking import flaws as flaws
from inventory.ledger.queries.standing import stands
from inventory.ledger.queries.sums import summed
from inventory.ledger.rules import Figure
from inventory.prepared import Prepared


def single_place(kind: str) -> Place:
    """The shop's one place of this kind: scrap, unplanned, count difference."""
    found = _SINGLE.first(kind)
    if found is None:
        name = rules.PLACE_KINDS[kind]
        found, _ = Place.objects.get_or_create(kind=kind, defaults={"name": name})
    return found


def _bins() -> QuerySet[Bin]:
    return Bin.objects.select_related("item", "place")


def _in_use() -> QuerySet[Bin]:
    return _bins().filter(retired_at=None)


# How many pieces a bin holds.
_HELD = Coalesce(
    Subquery(
        Balance.objects.filter(place=OuterRef("place"), item=OuterRef("item")).values(
            "quantity"
        )
    ),
    0,
)
_SINGLE = Prepared(lambda kind: Place.objects.filter(kind=kind))
_NUMBERED = Prepared(lambda number: _bins().filter(number=number))
_BALANCES = Prepared(
    lambda places: Balance.objects.filter(place__in=places).values_list(
        "place_id", "item_id", "quantity"
    )
)
_NEWEST = Prepared(lambda: Act.objects.order_by("-pk").values_list("pk")[:1])
_SHELF = Prepared(
    lambda items: Bin.objects.filter(item__in=items, retired_at=None).values_list(
        "number",
        "item_id",
        "spot",
        _HELD,
    )
)


def bins() -> list[Bin]:
    """All bins with item and place, by number."""
    return list(_in_use())


def bins_of(items: Iterable[int]) -> list[Bin]:
    """The bins that hold these items."""
    return list(_in_use().filter(item__in=set(items)))


def bins_of_kinds(kinds: Iterable[str]) -> list[Bin]:
    """The bins that hold items of these kinds."""
    return list(_in_use().filter(item__kind__in=set(kinds)))


def bins_between(first: int, last: int) -> list[Bin]:
    """The bins with these numbers and those between."""
    return list(_in_use().filter(number__range=(first, last)))


def bins_after(number: int, limit: int, text: str = "") -> list[Bin]:
    """A page of bins by number; searched by words, callout, spot or number."""
    return list(_searched(_in_use(), text).filter(number__gt=number)[:limit])


def bins_around(number: int, above: int, below: int) -> list[Bin]:
    """The bins in use whose numbers come before and after one, by number."""
    rows = _in_use().order_by("number")
    before = list(rows.filter(number__lt=number).reverse()[:above])
    return [*reversed(before), *rows.filter(number__gte=number)[:below]]


@dataclass(frozen=True)
class BinList:
    """Which bins a list has, and in which order."""

    order: rules.BinOrder = rules.BinOrder.NUMBER
    text: str = ""
    to_count: bool = False
    retired: bool = False


def bins_listed(asked: BinList, skip: int, limit: int) -> list[Bin]:
    """A page of bins; every order ends by number, so that no bin comes twice."""
    rows = _searched(_bins(), asked.text).filter(retired_at__isnull=not asked.retired)
    if asked.to_count:
        rows = rows.filter(count_it=True)
    by: Mapping[rules.BinOrder, list[Any]] = {
        rules.BinOrder.NUMBER: [],
        rules.BinOrder.WHAT: [f"item__{each}" for each in Item._meta.ordering or ()],
        rules.BinOrder.FEWEST: [_HELD],
        rules.BinOrder.COUNTED: [F("counted_at").asc(nulls_first=True)],
    }
    return list(rows.order_by(*by[asked.order], "number")[skip : skip + limit])


def _searched(rows: QuerySet[Bin], text: str) -> QuerySet[Bin]:
    if text:
        match = Q(item__in=search(text)) | Q(spot__icontains=text)
        if text.isascii() and text.isdigit() and len(text) < 6:
            match |= Q(number=int(text))
        rows = rows.filter(match)
    return rows


def bins_to_count() -> list[Bin]:
    """The bins whose record is in doubt."""
    return list(_in_use().filter(count_it=True))


def bins_with_a_keep_level() -> list[Bin]:
    """The bins that should never hold less than a stated number."""
    return list(_in_use().exclude(keep_level=None))


def bins_without_a_label() -> list[Bin]:
    """The bins of which no label was made as they are now."""
    return list(_in_use().filter(labelled=False))


def bin_numbered(number: int) -> Bin:
    """A bin, also a retired one. Errors: `ledger.no_bin`."""
    found = _NUMBERED.first(number)
    if found is None:
        raise Refused(
            "ledger.no_bin",
            f"There is no bin {number} in use in this shop: make it, or scan another.",
            {"number": number},
        )
    return found


def quantities_at(places: Iterable[int]) -> dict[tuple[int, int], int]:
    """Balances by (place, item), in one read."""
    rows = _BALANCES(list(places))
    return {(place, item): quantity for place, item, quantity in rows}


@dataclass(frozen=True)
class OnShelf:
    """A bin as a bench knows it: its number, item and spot, and what it holds."""

    number: int
    item: int
    spot: str
    on_hand: int


def shelf_of(items: Iterable[int]) -> list[OnShelf]:
    """The bins that hold these items, and how much, in one read."""
    return [OnShelf(*row) for row in _SHELF(list(items))]


def quantity_in(bin: Bin) -> int:
    """What the record says a bin holds."""
    return quantities_at([bin.place_id]).get((bin.place_id, bin.item_id), 0)


def has_a_record(item: int) -> bool:
    """Whether anything was ever booked of an item."""
    return Movement.objects.filter(item=item).exists()


def in_bins() -> dict[int, int]:
    """Units on hand by item: all bins together."""
    rows = (
        Balance.objects.filter(place__kind=rules.BIN)
        .values("item")
        .annotate(total=Sum("quantity"))
    )
    return {row["item"]: row["total"] for row in rows}


def owned() -> dict[int, int]:
    """Units the shop still has by item: in bins and at open assemblies."""
    rows = (
        Balance.objects.filter(
            place__kind__in=[rules.BIN, rules.ASSEMBLY, rules.UNPLANNED]
        )
        .values("item")
        .annotate(total=Sum("quantity"))
    )
    return {row["item"]: row["total"] for row in rows}


def people_outside() -> list[str]:
    """The names of everybody who ever borrowed or lent."""
    rows = Place.objects.filter(kind__in=sorted(rules.NAMED_ONCE))
    return sorted(set(rows.values_list("name", flat=True)))


def scrapped_from(places: Collection[int]) -> dict[tuple[int, int], int]:
    """Units scrapped by (assembly's place, item), less corrections."""
    found = summed(Figure.SCRAPPED, place=places)
    return {(place, item): units for (place, _, item, *_), units in found.items()}


def pulled_most_by(places: Collection[int]) -> dict[tuple[int, int], int]:
    """Who pulled most of an item for an assembly, by (assembly's place, item)."""
    found: dict[tuple[int, int], tuple[int, int]] = {}
    for (place, _, item, who, _), pieces in summed(
        Figure.PULLED_BY, place=places
    ).items():
        best = found.get((place, item), (0, 0))
        # Of two with as much, the one who is longer here.
        if pieces > 0:
            found[place, item] = max(best, (pieces, -who))
    return {key: -who for key, (_pieces, who) in found.items()}


def pulled_by_day() -> dict[date, int]:
    """Pieces of consumables that went from bins to assemblies, by day."""
    found = summed(Figure.SET_ON)
    return {date.fromisoformat(day): pieces for (*_, day), pieces in found.items()}


def act_numbered(pk: int) -> Act:
    """Errors: `ledger.no_act`."""
    act = Act.objects.select_related("bin__item").filter(pk=pk).first()
    if act is None:
        raise Refused("ledger.no_act", f"There is no entry {pk} in this shop's record.")
    return act


def act_of_scan(scan_id: str) -> Act | None:
    """The act that was made under a client's id, if any."""
    return Act.objects.filter(scan_id=scan_id.lower()).first()


def is_stocked() -> bool:
    """Whether anybody ever stated what is here."""
    stating = [rules.Verb.COUNT, rules.Verb.RECEIVE]
    return Act.objects.filter(verb__in=stating).exists()


def newest_act() -> int:
    """The number of the record's newest entry; 0 before the first."""
    found = _NEWEST.first()
    return found[0] if found else 0


def movements_after(pk: int = 0, limit: int = 100) -> list[Movement]:
    """A page of the ledger by key, oldest first."""
    rows = Movement.objects.select_related("act__by", "item", "source", "target", "lot")
    return list(rows.filter(pk__gt=pk).order_by("pk")[:limit])


def opening_of(bin: Bin, reason: str) -> int | None:
    """The net quantity that acts of this reason put into a bin; None if none did."""
    rows = Movement.objects.filter(act__bin=bin, act__reason=reason)
    if not Act.objects.filter(bin=bin, reason=reason).exists():
        return None
    came = rows.filter(target=bin.place_id).aggregate(sum=Sum("quantity"))["sum"] or 0
    went = rows.filter(source=bin.place_id).aggregate(sum=Sum("quantity"))["sum"] or 0
    return int(came) - int(went)


def work_at(place: Place) -> list[Act]:
    """What people did to and from a place, oldest first; corrections are left out."""
    moved = Movement.objects.filter(Q(target=place) | Q(source=place))
    return list(
        Act.objects.filter(stands(), movements__in=moved, undoes=None)
        .select_related("by", "bin")
        .distinct()
        .order_by("pk")
    )


def rechecks() -> list[Recheck]:
    """The items whose forecast is wanted again."""
    return list(Recheck.objects.filter(wanted__gt=F("done")))


def wishes() -> dict[int, int]:
    """The last wish of every item that was ever wanted."""
    return dict(Recheck.objects.values_list("pk", "wanted"))


def is_settled(asked: Mapping[int, int]) -> bool:
    """Whether one of these wishes (item: number) was looked at since."""
    rows = Recheck.objects.filter(pk__in=asked).values_list("pk", "done")
    return any(done >= asked[item] for item, done in rows)


def set_aside() -> list[Recheck]:
    """The items that could not be looked at, however often it was tried."""
    return list(
        Recheck.objects.filter(attempts__gte=rules.MOST_ATTEMPTS).select_related("item")
    )


def last_check() -> LedgerCheck | None:
    """How the record was last proven; None before the first time."""
    return LedgerCheck.objects.first()
