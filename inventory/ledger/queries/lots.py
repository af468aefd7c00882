"""Reads of lots and evidence: where a batch may lie, where it went, its papers."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from django.db.models import Q

from inventory.errors import Refused
from inventory.ledger import rules
from inventory.ledger.models import Bin, Lot, LotInBin, Movement, Place
from inventory.ledger.models import Photograph as Photograph
from inventory.ledger.queries.standing import in_force


def lots_in(bin: Bin) -> list[LotInBin]:
    """The lots that may be in a bin now."""
    rows = LotInBin.objects.select_related("lot").prefetch_related("lot__photographs")
    return list(rows.filter(bin=bin, emptied_by=None))


def photographs(*, assembly: int) -> list[Photograph]:
    """The pictures of an assembly, oldest first."""
    return list(Photograph.objects.select_related("by").filter(assembly=assembly))


def papers_of(lots: Iterable[Lot]) -> list[Photograph]:
    """The photographed papers of lots."""
    rows = Photograph.objects.select_related("by", "lot__item")
    return list(rows.filter(lot__in=list(lots)))


def marks_of(photographs: Iterable[int]) -> dict[int, str]:
    """The SHA-256 of each of these photographs."""
    rows = Photograph.objects.filter(pk__in=list(photographs))
    return dict(rows.values_list("pk", "sha256"))


def photograph_marks() -> set[str]:
    """The SHA-256 of every photograph of the record."""
    return set(Photograph.objects.values_list("sha256", flat=True))


def photograph_numbered(pk: int) -> Photograph:
    """Errors: `ledger.no_photograph`."""
    row = Photograph.objects.filter(pk=pk).first()
    if row is None:
        raise Refused("ledger.no_photograph", f"There is no photograph {pk} here.")
    return row


def lot_numbered(pk: int) -> Lot:
    """Errors: `ledger.no_lot`."""
    row = Lot.objects.select_related("item").filter(pk=pk).first()
    if row is None:
        raise Refused("ledger.no_lot", f"There is no lot {pk} here.")
    return row


def stays_of(lot: Lot) -> list[LotInBin]:
    """The bins that a lot went into, and whether they have been empty since."""
    rows = LotInBin.objects.select_related("bin__item")
    return list(rows.filter(lot=lot).order_by("pk"))


def recall(lot: Lot) -> list[Place]:
    """Every place that pulled from a bin while this lot may have been in it."""
    found: dict[int, Place] = {}
    for stay in LotInBin.objects.filter(lot=lot).select_related("bin", "since"):
        rows = Movement.objects.select_related("target").filter(
            in_force(), source=stay.bin.place_id, pk__gt=stay.since_id
        )
        if stay.emptied_by_id is not None:
            rows = rows.filter(act__lt=stay.emptied_by_id)
        for row in rows.exclude(target__kind=rules.COUNT_DIFFERENCE):
            found[row.target_id] = row.target
    return list(found.values())


def lots_at(place: Place) -> dict[int, list[Lot]]:
    """The lots that may be at a place, by item: those in a bin when it was pulled from."""
    pulled = Movement.objects.filter(in_force(), target=place, source__kind=rules.BIN)
    stays = LotInBin.objects.filter(
        bin__place__in=pulled.values("source")
    ).select_related("lot", "bin")
    moves = list(pulled.values_list("source_id", "item_id", "pk", "act_id"))
    found: dict[int, dict[int, Lot]] = defaultdict(dict)
    for stay in stays:
        for source, item, pk, act in moves:
            ended = stay.emptied_by_id is not None and act >= stay.emptied_by_id
            if source == stay.bin.place_id and pk > stay.since_id and not ended:
                found[item][stay.lot_id] = stay.lot
    return {item: list(lots.values()) for item, lots in found.items()}


def lots_like(text: str, limit: int) -> list[Lot]:
    """Lots by their name or paper, the latest first."""
    match = Q(name__icontains=text) | Q(paper__icontains=text)
    return list(
        Lot.objects.select_related("item").filter(match).order_by("-pk")[:limit]
    )


def lots_ending(before: date) -> list[LotInBin]:
    """Lots in bins whose life ends before a day."""
    rows = LotInBin.objects.select_related("lot", "bin__item")
    return list(rows.filter(emptied_by=None, lot__expires_on__lt=before))
