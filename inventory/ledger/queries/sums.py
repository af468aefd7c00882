"""What all movements add up to: the sums kept so far, and the movements after them.

A figure is a sum over movements, of which an undo takes back its share. So what the
movements up to a certain one add up to never changes: it is kept (`KeptSum`), and a read
adds those that came since.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any

from django.db.models import (
    BigIntegerField,
    Case,
    CharField,
    Exists,
    F,
    OuterRef,
    Q,
    QuerySet,
    Sum,
    Value,
    When,
)
from django.db.models.expressions import Combinable
from django.db.models.functions import Cast, Coalesce, TruncDate

from inventory.catalog.rules import HOLDING, ONE_AT_A_TIME
from inventory.ledger import rules
from inventory.ledger.models import Act, KeptSum, Movement
from inventory.ledger.rules import Figure, Verb

Moved = QuerySet[Movement]
Key = tuple[Any, ...]
# What a figure may be kept by, and what stands where it is not.
_NONE = {**dict.fromkeys(("place", "other", "what", "who"), Value(0)), "day": Value("")}
KEYS = tuple(_NONE)
Summed = Callable[[Moved], QuerySet[Movement, Any]]

_TO_WORK = Q(source__kind=rules.BIN, target__kind=rules.ASSEMBLY)
# The day where the shop is: 2027-03-01.
_DAY = Cast(TruncDate("act__at"), CharField())
_PIECES = F("quantity")
# A square does not fit where its root does.
_SQUARE = Cast("quantity", BigIntegerField()) * Cast("quantity", BigIntegerField())
_DIFFERENCE = Q(source__kind=rules.COUNT_DIFFERENCE) | Q(
    target__kind=rules.COUNT_DIFFERENCE
)
_COUNTED_BEFORE = Exists(
    Act.objects.filter(
        bin=OuterRef("act__bin"), verb=Verb.COUNT, pk__lt=OuterRef("act_id")
    )
)
_WAS_COUNTED_BEFORE = Exists(
    Act.objects.filter(
        bin=OuterRef("act__bin"), verb=Verb.COUNT, pk__lt=OuterRef("corrects__act_id")
    )
)


def _sum_of(of: Combinable = _PIECES, **by: str | Combinable) -> Summed:
    """Movements summed by some keys."""
    keys = {
        name: F(key) if isinstance(key, str) else key
        for name, key in {**_NONE, **by}.items()
    }

    def sums(rows: Moved) -> QuerySet[Movement, Any]:
        return rows.order_by().values(**keys).annotate(total=Coalesce(Sum(of), 0))

    return sums


def _of(which: Callable[[Moved], Moved], sums: Summed) -> Summed:
    return lambda rows: sums(which(rows))


def _consumed(rows: Moved) -> Moved:
    rows = rows.filter(_TO_WORK, item__unit="pcs")
    return rows.exclude(item__kind__in=ONE_AT_A_TIME | HOLDING)


def _pulled(rows: Moved) -> Moved:
    return rows.filter(_TO_WORK).exclude(act__verb=Verb.UNDO)


def _taken_back(rows: Moved) -> Moved:
    back = rows.filter(source__kind=rules.ASSEMBLY, target__kind=rules.BIN)
    return back.exclude(corrects=None).exclude(corrects__act__verb=Verb.UNDO)


def _scrapped(rows: Moved) -> Moved:
    return rows.filter(target__kind=rules.SCRAP, source__kind=rules.ASSEMBLY)


def _unscrapped(rows: Moved) -> Moved:
    return rows.filter(source__kind=rules.SCRAP, target__kind=rules.ASSEMBLY)


def _found(rows: Moved) -> Moved:
    """What counts found over or under; an opening or a first count is no evidence."""
    rows = rows.filter(_DIFFERENCE, _COUNTED_BEFORE, act__verb=Verb.COUNT)
    return rows.exclude(act__reason=rules.OPENING)


def _unfound(rows: Moved) -> Moved:
    """Such a count was undone."""
    rows = rows.filter(_DIFFERENCE, _WAS_COUNTED_BEFORE, corrects__act__verb=Verb.COUNT)
    return rows.exclude(corrects__act__reason=rules.OPENING)


def _moved(rows: Moved) -> Moved:
    bins = Q(source__kind=rules.BIN) | Q(target__kind=rules.BIN)
    return rows.filter(bins).exclude(act__verb=Verb.COUNT)


_ONE_BIN = Case(When(source__kind=rules.BIN, then="source_id"), default="target_id")
_OTHER_BIN = Case(
    When(source__kind=rules.BIN, target__kind=rules.BIN, then="target_id"),
    default=Value(0),
)
_LACKING = Case(
    When(target__kind=rules.COUNT_DIFFERENCE, then=_PIECES), default=-_PIECES
)
# How each figure is summed; what takes its share back sums below nothing. An undo moves
# the other way, so what lacked comes back with its sign.
SUMS: Mapping[Figure, tuple[Summed, ...]] = {
    Figure.SET_ON: (_of(_consumed, _sum_of(day=_DAY)),),
    Figure.PULLED_BY: (
        _of(_pulled, _sum_of(place="target_id", what="item_id", who="act__by_id")),
        _of(
            _taken_back,
            _sum_of(
                -_PIECES, place="source_id", what="item_id", who="corrects__act__by_id"
            ),
        ),
    ),
    Figure.SCRAPPED: (
        _of(_scrapped, _sum_of(place="source_id", what="item_id")),
        _of(_unscrapped, _sum_of(-_PIECES, place="target_id", what="item_id")),
    ),
    Figure.TO_WORK: (_of(lambda rows: rows.filter(_TO_WORK), _sum_of(what="item_id")),),
    Figure.LACKING: (
        _of(_found, _sum_of(_LACKING, what="item_id")),
        _of(_unfound, _sum_of(_LACKING, what="item_id")),
    ),
    Figure.SQUARES: (
        _of(_found, _sum_of(_SQUARE)),
        _of(_unfound, _sum_of(-_SQUARE)),
    ),
    Figure.MOVED: (_of(_moved, _sum_of(place=_ONE_BIN, other=_OTHER_BIN)),),
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
