"""How a movement is posted: balances by conditional UPDATE, the row, what it wakes.

Every function here runs inside the transaction its caller opened.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import Case, F, When

from inventory.errors import Refused
from inventory.ledger import rules
from inventory.ledger.actions import updates
from inventory.ledger.actions.once import same
from inventory.ledger.models import (
    Act,
    Balance,
    Bin,
    CountAsked,
    Lot,
    LotInBin,
    Movement,
    Place,
    Recheck,
)
from inventory.ledger.queries import single_place
from inventory.ledger.rules import Verb
from inventory.people.models import User
from inventory.prepared import Prepared, insert


@dataclass(frozen=True)
class Done:
    """An act as it stands in the ledger; `repeated` when its id was known already.

    `counted_since`: it came late, and a newer count of the bin has seen it already.
    """

    act: Act
    movements: tuple[Movement, ...]
    repeated: bool = False
    counted_since: bool = False

    @property
    def beyond(self) -> int:
        """Units that came out though the record did not hold them."""
        if self.act.verb == Verb.COUNT or self.counted_since:
            return 0
        return sum(
            row.quantity
            for row in self.movements
            if row.source.kind == rules.COUNT_DIFFERENCE and row.corrects_id is None
        )


@dataclass(frozen=True)
class Ask:
    """Who asks for an act, when, and under which id of the client's.

    `doubt` is the standard deviation of the quantity, in units, where it was weighed.
    `late`: it happened at `now`, and newer acts may be in the ledger already.
    """

    by: User
    now: datetime
    scan_id: str | None = None
    reason: str = ""
    doubt: Decimal | None = None
    late: bool = False


@dataclass(frozen=True)
class Leg:
    """One quantity to move."""

    item_id: int
    quantity: int
    source: Place
    target: Place
    lot: Lot | None = None
    corrects: Movement | None = None


def open_act(
    verb: str, ask: Ask, payload: Mapping[str, object], **facts: object
) -> tuple[Act, bool]:
    """The act of this id, new or as it was. Second value: whether it was there.

    Errors: `ledger.scan_id`, `ledger.scan_id_reused`.
    """
    mark = rules.fingerprint({"verb": verb, **payload})
    if ask.scan_id is not None and not rules.is_scan_id(ask.scan_id):
        raise Refused(
            "ledger.scan_id",
            "The id of a scan has the form of a UUID; this device sent another.",
            {"scan_id": ask.scan_id[:40]},
        )
    scan_id = ask.scan_id.lower() if ask.scan_id else None
    row = Act(
        scan_id=scan_id,
        fingerprint=mark,
        verb=verb,
        by=ask.by,
        at=ask.now,
        reason=ask.reason[:160],
        doubt=ask.doubt,
        **facts,
    )
    known = _WITH_ID.first(scan_id) if scan_id else None
    if known is None and insert(row, unless="scan_id"):
        return row, False
    # Known before, or written by somebody else since it was looked for.
    known = known or _WITH_ID(scan_id)[0]
    return same(known, str(scan_id), mark), True


_WITH_ID = Prepared(lambda scan_id: Act.objects.filter(scan_id=scan_id))


def again(act: Act) -> Done:
    """An act that was made before, with its movements, in order."""
    rows = act.movements.select_related("source", "target", "item").order_by("pk")
    return Done(act, tuple(rows), repeated=True)


class Locked:
    """The balances that an act has locked: nobody else moves them until it is done.

    They are locked before the act is made, so that the acts of an item are numbered in the
    order in which they took effect. All lock them in one order, the count difference
    last: none waits for one that waits for it. What is in them is read once.
    """

    def __init__(self, wanted: Mapping[int, Iterable[Place]]) -> None:
        """Lock each item's balances at its places, and its count difference."""
        self.difference = single_place(rules.COUNT_DIFFERENCE)
        self.posted: list[Movement] = []
        self.quantities: dict[tuple[int, int], int] = {}
        for item in sorted(wanted):
            self._lock(item, wanted[item])

    def _lock(self, item_id: int, places: Iterable[Place]) -> None:
        others = {place.pk: place for place in places if place != self.difference}
        order = [*(others[pk] for pk in sorted(others)), self.difference]
        keys = ([place.pk for place in order], item_id, self.difference.pk)
        if len(_THERE(*keys[:2])) < len(order):
            fresh = [
                Balance(place=place, item_id=item_id, open_ended=place.open_ended)
                for place in order
            ]
            Balance.objects.bulk_create(fresh, ignore_conflicts=True)
        # Only now, and all at once: one that came between would be locked out of order.
        rows = _LOCKED(*keys)
        self.quantities |= {(place, item_id): quantity for place, quantity in rows}

    def at(self, place: Place, item_id: int) -> int:
        """What the record says is there now."""
        return self.quantities[place.pk, item_id]

    def done(self, act: Act, *, counted_since: bool = False) -> Done:
        """The act with all that was posted for it."""
        return Done(act, tuple(self.posted), counted_since=counted_since)


_THERE = Prepared(
    lambda places, item: Balance.objects.filter(
        place__in=places, item=item
    ).values_list("pk")
)
_LOCKED = Prepared(
    lambda places, item, difference: (
        Balance.objects.filter(place__in=places, item=item)
        .order_by(Case(When(place=difference, then=1), default=0), "place_id")
        .select_for_update()
        .values_list("place_id", "quantity")
    )
)


def post(locked: Locked, act: Act, leg: Leg) -> Movement:
    """Move one quantity between two balances that the act has locked."""
    item, quantity = leg.item_id, leg.quantity
    left = locked.at(leg.source, item) - quantity
    if left < 0 and not leg.source.open_ended:
        raise Refused(
            "ledger.not_there",
            f"{leg.source.name} does not hold {quantity:,}: count it first.",
            {"place": leg.source.pk, "quantity": quantity},
        )
    updates.move(item, quantity, leg.source.pk, leg.target.pk)
    locked.quantities[leg.source.pk, item] = left
    locked.quantities[leg.target.pk, item] += quantity
    movement = Movement(
        act=act,
        item_id=item,
        quantity=quantity,
        source=leg.source,
        target=leg.target,
        source_after=left,
        target_after=locked.at(leg.target, item),
        lot=leg.lot,
        corrects=leg.corrects,
        original=leg.corrects and (leg.corrects.original or leg.corrects),
    )
    insert(movement)
    locked.posted.append(movement)
    ends = {leg.source.kind, leg.target.kind}
    if rules.BIN in ends and rules.COUNT_DIFFERENCE not in ends:
        updates.remember_moved(quantity, leg.source.pk, leg.target.pk)
    if leg.target.kind == rules.BIN:
        _remember_lots(movement)
    # What is scrapped teaches of every class; the rest touches this item alone.
    want_recheck(item, wide=rules.SCRAP in (leg.source.kind, leg.target.kind))
    return movement


def cover(locked: Locked, act: Act, leg: Leg) -> int:
    """Book what the source lacks for a leg from the count difference.

    The hand is right: returns the quantity the record could not explain, and has a
    bin ask to be counted.
    """
    if leg.source.open_ended:
        return 0
    missing = leg.quantity - locked.at(leg.source, leg.item_id)
    if missing <= 0:
        return 0
    post(locked, act, Leg(leg.item_id, missing, locked.difference, leg.source))
    ask_for_a_count(leg.source, rules.came_out(missing), act, missing)
    return missing


def ask_for_a_count(
    place: Place, reason: str, act: Act | None, missing: int | None = None
) -> None:
    """Have a bin ask to be counted, until it is, or until the act is taken back."""
    reason = reason[:160]
    bin = Bin.objects.filter(place=place).first()
    if bin is not None:
        CountAsked.objects.create(bin=bin, act=act, reason=reason, missing=missing)
        Bin.objects.filter(pk=bin.pk).update(count_it=True, count_reason=reason)


def want_recheck(item_id: int, *, wide: bool = False) -> None:
    """Leave the row that tells the worker to look at this item again, or at all."""
    if not updates.want_again(item_id, wide=wide):
        row = Recheck(item_id=item_id, wide=wide)
        Recheck.objects.bulk_create([row], ignore_conflicts=True)


def want_all() -> bool:
    """Have everything looked at again; false in a shop without any item to look at."""
    first = Recheck.objects.order_by("pk").first()
    if first is None:
        return False
    want_recheck(first.pk, wide=True)
    return True


def settle_rechecks(done_up_to: Mapping[int, int]) -> None:
    """Mark items as looked at, up to the wish that was read."""
    for item, wanted in done_up_to.items():
        row = Recheck.objects.filter(pk=item)
        row.filter(done__lt=wanted).update(done=wanted, attempts=0)
        # A wide wish that came meanwhile stays.
        row.filter(wanted=wanted).update(wide=False)


def fail_recheck(item_id: int, wanted: int) -> None:
    """Count a failure; after five in a row it is set aside until it is wanted anew."""
    row = Recheck.objects.filter(pk=item_id)
    row.update(attempts=F("attempts") + 1)
    row.filter(wanted=wanted).update(wide=False)
    tired = row.filter(attempts__gte=rules.MOST_ATTEMPTS, done__lt=wanted)
    tired.update(done=wanted)


def _remember_lots(movement: Movement) -> None:
    """The lots that may be in the target bin now."""
    target = Bin.objects.filter(place_id=movement.target_id).first()
    if target is None:
        return
    lots = {movement.lot_id} if movement.lot_id else set()
    if not lots:
        inside = LotInBin.objects.filter(
            bin__place_id=movement.source_id, emptied_by=None
        )
        lots = set(inside.values_list("lot_id", flat=True))
    # What is done again was there from the first time on.
    since = movement.original or movement
    LotInBin.objects.bulk_create(
        [LotInBin(bin=target, lot_id=lot, since=since) for lot in lots],
        ignore_conflicts=True,
    )
