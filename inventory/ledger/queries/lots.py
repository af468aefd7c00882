"""Reads of lots and evidence: where a batch may lie, where it went, its papers."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from inventory.errors import Refused
from inventory.ledger import rules
from inventory.ledger.models import Bin, Lot, Movement, Place
from inventory.ledger.models import LotInBin as LotInBin
from inventory.ledger.models import Photograph as Photograph
from inventory.ledger.queries.standing import in_force
from inventory.ledger.rules.recalling import Share, Shift, shares

# Pieces that went from bin to bin and back are followed so far.
PASSES = 4


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


@dataclass(frozen=True)
class Recalled:
    """A place that may have got of a lot, and how many."""

    place: Place
    share: Share


def recall(lot: Lot) -> list[Recalled]:
    """Every place that pulled from a bin while this lot may have been in it.

    None is left out that by the record's numbers got none of it: a record may stray. The
    surest and those with the most stand first.
    """
    stays = _stays(lot)
    moved = [_moved(stay) for stay in stays]
    places = recalled_places(lot)
    found: dict[int, Share] = {}
    handed: dict[int, Share] = {}
    # What went from bin to bin is known when the first bin is reckoned.
    for _pass in range(min(len(stays), PASSES)):
        found = {}
        for stay, (held, rows) in zip(stays, moved, strict=True):
            shifts = [_shift(row, stay, lot.pk, handed) for row in rows]
            for key, share in shares(held, shifts).items():
                if key < 0:
                    handed[-key] = share
                elif key in places:
                    before = found.get(key)
                    found[key] = before.with_more(share) if before else share
    every = [Recalled(place, found[key]) for key, place in places.items()]
    return sorted(
        every, key=lambda each: (-each.share.least, -each.share.chance, each.place.name)
    )


def recalled_places(lot: Lot) -> dict[int, Place]:
    """The places of a recall by key, without how many went there."""
    return {
        row.target_id: row.target
        for stay in _stays(lot)
        for row in _meanwhile(stay).filter(source=stay.bin.place_id)
        if row.target.kind not in (rules.BIN, rules.COUNT_DIFFERENCE)
    }


def _stays(lot: Lot) -> list[LotInBin]:
    return list(LotInBin.objects.filter(lot=lot).select_related("bin").order_by("pk"))


def _moved(stay: LotInBin) -> tuple[int, list[Movement]]:
    """What a bin held before a lot came, and what came and went until it was empty."""
    place = stay.bin.place_id
    before = _touching(stay).filter(pk__lt=stay.since_id)
    held = sum(
        pieces if to == place else -pieces
        for pieces, to in before.values_list("quantity", "target_id")
    )
    return held, list(_meanwhile(stay))


def _meanwhile(stay: LotInBin) -> QuerySet[Movement]:
    """What came and went from the lot's coming on, until the bin was known empty."""
    rows = _touching(stay).filter(pk__gte=stay.since_id)
    if stay.emptied_by_id is not None:
        rows = rows.filter(act__lt=stay.emptied_by_id)
    return rows.select_related("source", "target").order_by("pk")


def _touching(stay: LotInBin) -> QuerySet[Movement]:
    place = stay.bin.place_id
    at_it = Q(source=place) | Q(target=place)
    return Movement.objects.filter(in_force(), at_it, item=stay.bin.item_id)


def _shift(
    row: Movement, stay: LotInBin, lot: int, handed: Mapping[int, Share]
) -> Shift:
    """A movement as it bears on a lot in a bin; from bin to bin it has a key of its own."""
    if row.source_id == stay.bin.place_id:
        to = -row.pk if row.target.kind == rules.BIN else row.target_id
        return Shift(row.quantity, to)
    if row.lot_id == lot:
        return Shift(row.quantity, None, row.quantity, row.quantity, row.quantity)
    if row.source.kind == rules.BIN:
        had = handed.get(row.pk, Share(0, 0, 0, 0.0, 0.0))
        return Shift(row.quantity, None, had.least, had.most, had.likely)
    if row.source.kind == rules.COUNT_DIFFERENCE:
        # What a count found may be of any lot that lay there.
        return Shift(row.quantity, None, 0, row.quantity)
    return Shift(row.quantity, origin=row.source_id)


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
    return list(_lots(text).order_by("-pk")[:limit])


def lots_after(pk: int, limit: int, text: str) -> list[Lot]:
    """A page of lots by key, the oldest first."""
    return list(_lots(text).filter(pk__gt=pk).order_by("pk")[:limit])


def _lots(text: str) -> QuerySet[Lot]:
    match = Q(name__icontains=text) | Q(paper__icontains=text)
    return Lot.objects.select_related("item").filter(match)


def lots_ending(before: date) -> list[LotInBin]:
    """Lots in bins whose life ends before a day."""
    rows = LotInBin.objects.select_related("lot", "bin__item")
    return list(rows.filter(emptied_by=None, lot__expires_on__lt=before))
