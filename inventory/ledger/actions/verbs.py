"""What people do with pieces: pull, return, count, receive, scrap, lend, move."""

from dataclasses import replace
from decimal import Decimal

from django.db import transaction

from inventory.errors import Refused
from inventory.ledger import rules
from inventory.ledger.actions import late
from inventory.ledger.actions.posting import (
    Ask,
    Done,
    Leg,
    Locked,
    again,
    ask_for_a_count,
    cover,
    open_act,
    post,
    want_recheck,
)
from inventory.ledger.models import (
    Act,
    Bin,
    CountAsked,
    CountFound,
    Lot,
    LotInBin,
    Place,
)
from inventory.ledger.queries import act_of_scan, quantities_at, single_place
from inventory.ledger.queries.counts import known_of, pulled_beside
from inventory.ledger.rules import Verb
from inventory.ledger.rules.looking import Looked, Seen, Sight, looked


def pull(*, bin: Bin, quantity: int, to: Place, ask: Ask) -> Done:
    """Take pieces from a bin to an assembly (or to 'unplanned').

    A pull beyond the record is posted: what is missing is booked from the count
    difference and the bin is marked. Errors: `ledger.quantity`, `ledger.scan_id*`.
    """
    return _between(Verb.PULL, bin, quantity, (bin.place, to), ask)


def give_back(*, bin: Bin, quantity: int, from_: Place, ask: Ask) -> Done:
    """Return pieces from an assembly (or 'unplanned', or a borrower) to a bin."""
    return _between(Verb.RETURN, bin, quantity, (from_, bin.place), ask)


def scrap(*, bin: Bin, quantity: int, from_: Place, ask: Ask) -> Done:
    """Book pieces as spoiled: drilled out at an assembly, or dropped from a bin."""
    return _between(Verb.SCRAP, bin, quantity, (from_, single_place(rules.SCRAP)), ask)


def lend(*, bin: Bin, quantity: int, to: Place, ask: Ask) -> Done:
    """Lend pieces to a borrower, or give a lender back what is theirs."""
    return _between(Verb.LEND, bin, quantity, (bin.place, to), ask)


def get_back(*, bin: Bin, quantity: int, from_: Place, ask: Ask) -> Done:
    """Put lent pieces back; the same scan id again puts them back once.

    Errors: `ledger.not_lent` for more than were lent.
    """
    out = quantities_at([from_.pk]).get((from_.pk, bin.item_id), 0)
    is_again = ask.scan_id and Act.objects.filter(scan_id=ask.scan_id).exists()
    if rules.checked_quantity(quantity) > out and not is_again:
        raise Refused(
            "ledger.not_lent",
            f"{from_.name} has {out} of {bin.item.words} by the record: take back no "
            "more, and book the others as found by a count.",
            {"lent": out},
        )
    return give_back(bin=bin, quantity=quantity, from_=from_, ask=ask)


def move(*, bin: Bin, quantity: int, to: Bin, ask: Ask) -> Done:
    """Move pieces to another bin of the same item.

    Errors: `ledger.other_item`, `ledger.same_bin`.
    """
    if bin.pk == to.pk:
        raise Refused(
            "ledger.same_bin",
            f"They are in {bin} already: key the number of another bin. Nothing moved.",
            {"bin": bin.number},
        )
    if bin.item_id != to.item_id:
        raise Refused(
            "ledger.other_item",
            f"{to} holds {to.item.words}, {bin} holds {bin.item.words}: "
            "they must not mix. Nothing moved.",
            {"from": bin.pk, "to": to.pk},
        )
    return _between(Verb.MOVE, bin, quantity, (bin.place, to.place), ask)


def receive(
    *,
    bin: Bin,
    quantity: int,
    supplier: Place,
    ask: Ask,
    lot: Lot | None = None,
) -> Done:
    """Put delivered pieces into a bin. Errors: `ledger.other_item` for the lot."""
    if lot is not None and lot.item_id != bin.item_id:
        raise Refused(
            "ledger.other_item", f"Lot {lot.name} is of another item than {bin} holds."
        )
    return _between(Verb.RECEIVE, bin, quantity, (supplier, bin.place), ask, lot)


def count(*, bin: Bin, counted: int, ask: Ask, lot: Lot | None = None) -> Done:
    """State how many pieces a bin holds; the difference is booked.

    Zero also says the bin is empty, which ends the lots in it. `lot` is what an
    opening count knows of the pieces. A count that arrives late is of its own time: what
    moved since then stands, and a newer count outweighs it.
    """
    counted = rules.checked_quantity(counted, zero=True)
    with transaction.atomic():
        locked = Locked({bin.item_id: [bin.place]})
        act, repeated = open_act(
            Verb.COUNT,
            ask,
            {"bin": bin.pk, "counted": counted},
            bin=bin,
            counted=counted,
            beside=pulled_beside(bin),
        )
        if repeated:
            return again(act)
        if ask.late and late.counted_since(bin, ask.now):
            _known_by(bin, act)
            return locked.done(act, counted_since=True)
        CountAsked.objects.filter(bin=bin, answered_by=None).update(answered_by=act)
        Bin.objects.filter(pk=bin.pk).update(
            count_it=False, count_reason="", counted_at=ask.now, retired_at=None
        )
        since = late.moved_since(bin, act.at) if ask.late else 0
        if ask.late:
            late.ask_where_close(bin, act)
        _book_count(locked, act, bin, max(0, counted + since), lot)
        _known_by(bin, act)
        if counted == 0:
            LotInBin.objects.filter(bin=bin, emptied_by=None).update(emptied_by=act)
        return locked.done(act)


def look(*, bin: Bin, seen: Seen, doubt: float, ask: Ask) -> Done:
    """Note what somebody saw in a bin without counting it.

    `doubt` is how far its record may be off, in units (a standard deviation). Where the
    look agrees nothing moves and the record is surer; else the bin holds what was seen,
    give or take. Who sees it empty has counted it; else no wish for a count is answered.
    One that arrives late is of its own time: a newer count outweighs it.
    Errors: `ledger.look`.
    """
    if seen.sight is Sight.EMPTY:
        return count(bin=bin, counted=0, ask=ask)
    with transaction.atomic():
        locked = Locked({bin.item_id: [bin.place]})
        since = late.moved_since(bin, ask.now) if ask.late else 0
        held = max(0, locked.at(bin.place, bin.item_id) - since)
        # The same look again is answered as it was, whatever the record holds by now.
        is_again = ask.scan_id is not None and act_of_scan(ask.scan_id) is not None
        is_old = ask.late and late.counted_since(bin, ask.now)
        tells = not (is_again or is_old)
        found = looked(seen, held, doubt) if tells else Looked(None, doubt)
        rough = Decimal(str(round(found.doubt, 2)))
        act, repeated = open_act(
            Verb.LOOK,
            replace(ask, reason=str(seen), doubt=rough),
            {"bin": bin.pk, "seen": str(seen)},
            bin=bin,
            counted=found.stated,
            beside=pulled_beside(bin),
        )
        if repeated:
            return again(act)
        if found.stated is None:
            moved = Bin.objects.values_list("moved_since", flat=True).get(pk=bin.pk)
            Bin.objects.filter(pk=bin.pk).update(last_look=act, moved_at_look=moved)
            want_recheck(bin.item_id)
        else:
            Bin.objects.filter(pk=bin.pk).update(counted_at=ask.now)
            _book_count(locked, act, bin, max(0, found.stated + since), None)
            _known_by(bin, act)
        return locked.done(act, counted_since=is_old)


def adjust(*, bin: Bin, change: int, ask: Ask, lot: Lot | None = None) -> Done:
    """Correct a bin's opening by a signed difference (a corrected opening list)."""
    with transaction.atomic():
        locked = Locked({bin.item_id: [bin.place]})
        act, repeated = open_act(
            Verb.COUNT,
            ask,
            {"bin": bin.pk, "change": change},
            bin=bin,
            beside=pulled_beside(bin),
        )
        if repeated:
            return again(act)
        if change:
            counted = max(0, locked.at(bin.place, bin.item_id) + change)
            _book_count(locked, act, bin, counted, lot)
        _known_by(bin, act)
        return locked.done(act)


def tools_back(*, place: Place, ask: Ask) -> None:
    """Return every tool recorded at a place to its first bin, to be counted there."""
    rows = place.balances.filter(quantity__gt=0).select_related("item")
    for row in rows:
        bin = Bin.objects.filter(item=row.item_id).order_by("number").first()
        if row.item.sort.consumed or bin is None:
            continue
        done = give_back(bin=bin, quantity=row.quantity, from_=place, ask=ask)
        ask_for_a_count(bin.place, f"tools came back from {place.name}", done.act)


def _between(
    verb: str,
    bin: Bin,
    quantity: int,
    way: tuple[Place, Place],
    ask: Ask,
    lot: Lot | None = None,
) -> Done:
    quantity = rules.checked_quantity(quantity)
    payload = {
        "bin": bin.pk,
        "quantity": quantity,
        "from": way[0].pk,
        "to": way[1].pk,
        "lot": lot.pk if lot else None,
    }
    with transaction.atomic():
        locked = Locked({bin.item_id: way})
        act, repeated = open_act(verb, ask, payload, bin=bin)
        if repeated:
            return again(act)
        leg = Leg(bin.item_id, quantity, way[0], way[1], lot)
        seen = late.seen_by_counts(leg, act) if ask.late else set()
        late.cover_seen(locked, act, leg, seen)
        cover(locked, act, leg)
        post(locked, act, leg)
        late.take_back_seen(locked, act, leg, seen)
        return locked.done(act, counted_since=bool(seen))


def _known_by(bin: Bin, act: Act) -> None:
    """From this count on a bin's doubt begins anew; what it found is evidence."""
    before = Bin.objects.values_list("last_count", flat=True).get(pk=bin.pk)
    if before is not None and act.reason != rules.OPENING:
        found = known_of(bin.place_id, bin.item_id, after=before).found[-1]
        CountFound.objects.create(
            act=act, bin=bin, difference=found.difference, moved=found.moved
        )
    Bin.objects.filter(pk=bin.pk).update(
        last_count=act, moved_since=0, last_look=None, moved_at_look=0
    )


def _book_count(
    locked: Locked, act: Act, bin: Bin, counted: int, lot: Lot | None
) -> None:
    more = counted - locked.at(bin.place, bin.item_id)
    if more > 0:
        post(locked, act, Leg(bin.item_id, more, locked.difference, bin.place, lot))
    elif more < 0:
        post(locked, act, Leg(bin.item_id, -more, bin.place, locked.difference))
