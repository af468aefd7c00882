"""What all movements add up to: the sums kept so far, and the movements after them.

A figure is a sum over movements, of which an undo takes back its share. So what the
movements up to a certain one add up to never changes: it is kept (`KeptSum`), and a read
adds those that came since.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any

from django.db.models import Case, CharField, F, Q, QuerySet, Sum, Value, When
from django.db.models.expressions import Combinable
from django.db.models.functions import Cast, Coalesce, TruncDate

from inventory.catalog.rules import HOLDING, ONE_AT_A_TIME
from inventory.ledger import rules
from inventory.ledger.models import KeptSum, Movement
from inventory.ledger.rules import Figure

Moved = QuerySet[Movement]
Key = tuple[Any, ...]
# What a figure may be kept by, and what stands where it is not.
_NONE = {**dict.fromkeys(("place", "other", "what", "who"), Value(0)), "day": Value("")}
KEYS = tuple(_NONE)
Summed = Callable[[Moved], QuerySet[Movement, Any]]

# What a figure is of, and what of it is summed: by the path of the movement that counts.
Of = Callable[[str], Q]


def _to_work(at: str) -> Q:
    return Q(**{f"{at}source__kind": rules.BIN, f"{at}target__kind": rules.ASSEMBLY})


def _consumed(at: str) -> Q:
    others = {f"{at}item__kind__in": ONE_AT_A_TIME | HOLDING}
    return _to_work(at) & Q(**{f"{at}item__unit": "pcs"}) & ~Q(**others)


def _scrapped(at: str) -> Q:
    return Q(**{f"{at}target__kind": rules.SCRAP, f"{at}source__kind": rules.ASSEMBLY})


def _key(at: str, name: str) -> Combinable:
    # The day where the shop is: 2027-03-01.
    if name == "day":
        return Cast(TruncDate(f"{at}act__at"), CharField())
    return F(f"{at}{name}")


def _figure(of: Of, **by: str) -> tuple[Summed, ...]:
    """How a figure is summed: what was done, and what corrections took or gave of it.

    A correction counts by the keys of what it corrects, even of another day or person.
    """
    signed = Case(
        When(source=F("original__source"), then=F("quantity")), default=-F("quantity")
    )

    def sums(rows: Moved, at: str, total: Combinable) -> QuerySet[Movement, Any]:
        keys = _NONE | {name: _key(at, path) for name, path in by.items()}
        rows = rows.filter(of(at)).order_by()
        return rows.values(**keys).annotate(total=Coalesce(Sum(total), 0))

    return (
        lambda rows: sums(rows.filter(original=None), "", F("quantity")),
        lambda rows: sums(rows.exclude(original=None), "original__", signed),
    )


SUMS: Mapping[Figure, tuple[Summed, ...]] = {
    Figure.SET_ON: _figure(_consumed, day="day"),
    Figure.PULLED_BY: _figure(
        _to_work, place="target_id", what="item_id", who="act__by_id"
    ),
    Figure.SCRAPPED: _figure(_scrapped, place="source_id", what="item_id"),
    Figure.TO_WORK: _figure(_to_work, what="item_id"),
}


def summed(figure: Figure, **only: Collection[int]) -> dict[Key, int]:
    """A figure by its KEYS, or `only` where a key is one of some.

    Kept sums and newer movements are read in one statement; where more was summed
    between this and what it asks for, it is read again: nothing is missed or doubled.
    """
    within = {f"{name}__in": set(values) for name, values in only.items()}
    while True:
        upto = summed_upto()
        newer = Movement.objects.filter(pk__gt=upto)
        rows = _rows(KeptSum.objects.filter(figure=Figure.UPTO), Figure.UPTO).union(
            _rows(KeptSum.objects.filter(figure=figure, **within), figure),
            *(_rows(sums(newer).filter(**within), figure) for sums in SUMS[figure]),
            all=True,
        )
        found, seen = _added(rows)
        if seen == upto:
            return found


def summed_upto() -> int:
    """The last movement that the kept sums hold; 0 where none are kept."""
    kept = KeptSum.objects.filter(figure=Figure.UPTO).values_list("total", flat=True)
    return kept.first() or 0


def _rows(rows: Any, figure: Figure) -> Any:
    return rows.annotate(of=Value(figure.value)).values_list("of", *KEYS, "total")


def _added(rows: Iterable[Any]) -> tuple[dict[Key, int], int]:
    found: dict[Key, int] = defaultdict(int)
    upto = 0
    for figure, *key, total in rows:
        if figure == Figure.UPTO:
            upto = total
        else:
            found[tuple(key)] += total
    return found, upto
