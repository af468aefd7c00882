"""Reads of what people did: a page of acts, and whether each still stands."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet

from inventory.errors import Refused
from inventory.ledger.models import Act, Movement
from inventory.ledger.queries import bin_numbered
from inventory.ledger.queries.standing import last_of_chain, stands
from inventory.ledger.rules import Verb
from inventory.people.models import User


@dataclass(frozen=True)
class Deed:
    """An act as a page lists it: the movement it is told by, and what became of it.

    `undo` is the last undo of it, None where nobody took it back; `gone` is whether it
    is taken back now; `may` whether the one who looks may change that. `held` is what a
    place held after it, where the page is of one.
    """

    act: Act
    moved: Movement | None
    gone: bool
    undo: Act | None
    may: bool
    held: int | None = None


def may_take_back(act: Act, by: User) -> bool:
    """Whether somebody may: who did it, and the owner. Who gets more rights is open."""
    return by.is_superuser or act.by_id == by.pk


def checked_to_take_back(act: Act, by: User) -> None:
    """Errors: `ledger.not_yours`."""
    if not may_take_back(act, by):
        raise Refused(
            "ledger.not_yours",
            f"{act.by} did that: {act.by} or the owner can take it back. "
            "Nothing was changed.",
            {"act": act.pk},
        )


def checked_item_is_the_same(act: Act) -> None:
    """That an act is of the item its bin still holds. Errors: `ledger.merged`."""
    if act.verb == Verb.MERGE:
        raise Refused(
            "ledger.merged",
            "Two items were merged by that: part them again on the item's page. "
            "Nothing was changed.",
            {"act": act.pk},
        )
    if act.bin is None:
        return
    since = Act.objects.filter(bin=act.bin, verb=Verb.MERGE, pk__gt=act.pk)
    if since.exists():
        raise Refused(
            "ledger.merged",
            f"The item of {act.bin} was merged with another since, so that cannot be "
            "taken back: count the bin instead. Nothing was changed.",
            {"act": act.pk, "bin": act.bin.number},
        )


def deeds(
    limit: int,
    viewer: User,
    *,
    before: int | None = None,
    where: Q | None = None,
    place: int | None = None,
) -> list[Deed]:
    """A page of what was done, the newest first; `where` narrows the acts."""
    rows = _acts().filter(where or Q(), undoes=None).order_by("-pk")
    if before is not None:
        rows = rows.filter(pk__lt=before)
    page = list(rows[:limit])
    standing = set(
        Act.objects.filter(stands(), pk__in=[row.pk for row in page]).values_list(
            "pk", flat=True
        )
    )
    return [
        Deed(
            row,
            row.told_by,
            row.pk not in standing,
            last_of_chain(row) if hasattr(row, "undone_by") else None,
            row.verb != Verb.MERGE and may_take_back(row, viewer),
            _held(row, place),
        )
        for row in page
    ]


def taken_back_at(place: int, most: int) -> list[Deed]:
    """The latest acts at a place that count for nothing any more, the newest first."""
    rows = _acts().filter(at_place(place), undoes=None).exclude(stands())
    return [
        Deed(row, row.told_by, True, last_of_chain(row), may=False)
        for row in rows.order_by("-pk")[:most]
    ]


def last_act() -> Act | None:
    """What was done last, with its movements; an undo is none."""
    return _acts().filter(undoes=None).order_by("pk").last()


def _held(act: Act, place: int | None) -> int | None:
    ends = [
        left
        for row in act.movements.all()
        for end, left in (
            (row.source_id, row.source_after),
            (row.target_id, row.target_after),
        )
        if end == place
    ]
    return ends[-1] if ends else None


def _acts() -> QuerySet[Act]:
    moved = Movement.objects.select_related("item", "source", "target", "lot")
    return Act.objects.select_related("by", "bin__item", "undone_by").prefetch_related(
        Prefetch("movements", moved.order_by("pk"))
    )


def at_place(place: int) -> Q:
    """Acts that moved something to or from a place, or counted the bin that it is."""
    moved = Movement.objects.filter(Q(source=place) | Q(target=place)).order_by()
    counted = Act.objects.filter(bin__place=place).order_by()
    return Q(pk__in=moved.values("act").union(counted.values("pk")))


def of_lot(lot: int) -> Q:
    """Acts that moved a lot by its name."""
    return Q(pk__in=Movement.objects.filter(lot=lot).values("act"))


def these(acts: Collection[int]) -> Q:
    """The acts of these numbers."""
    return Q(pk__in=acts)


def found_by(*, by: int | None, bin: int | None, day: date | None) -> Q:
    """Acts of a person, at a bin of this number, of a day where the shop is."""
    where = Q()
    if by is not None:
        where &= Q(by=by)
    if bin is not None:
        where &= at_place(bin_numbered(bin).place_id)
    if day is not None:
        where &= Q(at__date=day)
    return where


def people_who_did() -> list[User]:
    """Everybody who is in the record."""
    did = Act.objects.filter(by=OuterRef("pk"))
    return list(User.objects.filter(Exists(did)).order_by("pk"))
