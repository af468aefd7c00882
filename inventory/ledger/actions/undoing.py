"""Taking back: what an act moved, and all that the record believed because of it.

A count that came after has seen the bin without the mistake, so the bin stays as counted:
what comes back or goes then is booked to the count difference.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from django.db import transaction
from django.db.models import F, Q

from inventory.errors import Refused
from inventory.ledger import rules
from inventory.ledger.actions.posting import (
    Ask,
    Done,
    Leg,
    Locked,
    again,
    cover,
    open_act,
    post,
    want_recheck,
)
from inventory.ledger.actions.stays import lots_again
from inventory.ledger.models import (
    Act,
    Bin,
    CountAsked,
    CountFound,
    Movement,
    Place,
)
from inventory.ledger.queries.acts import checked_item_is_the_same
from inventory.ledger.queries.counts import STATING, known_of
from inventory.ledger.queries.standing import (
    first_of_chain,
    is_gone,
    last_of_chain,
    stands,
)
from inventory.ledger.rules import Verb
from inventory.ledger.rules.replaying import Known


def undo(*, act: Act, ask: Ask) -> Done:
    """Reverse what an act moved, as a correction and not as consumption.

    An undo can itself be undone; what was done again can be taken back again. Bins that
    were counted since stay as counted. Errors: `ledger.undone` when it is gone already,
    `ledger.merged` when its bin's item was merged with another since.
    """
    act = _to_undo(act, ask)
    rows = list(
        act.movements.select_related("source", "target", "lot", "original").order_by(
            "-pk"
        )
    )
    with transaction.atomic():
        places = _places_of(act, rows)
        locked = Locked(places)
        after = Act.objects.filter(undoes=act).first()
        if after is not None and after.scan_id != (ask.scan_id or ""):
            raise _undone(act)
        fresh, repeated = open_act(
            Verb.UNDO,
            ask,
            {"undoes": act.pk},
            bin=act.bin,
            undoes=act,
            takes_back=_gone_by_undoing(act),
        )
        if repeated:
            return again(fresh)
        _reverse(locked, fresh, rows)
        for item, there in places.items():
            for place in there:
                _set_right(locked, fresh, place, item)
            for bin in Bin.objects.filter(place__in=there):
                know_again(bin)
            lots_again(item)
        return locked.done(fresh)


def _to_undo(act: Act, ask: Ask) -> Act:
    """The act itself, or the last that put it in force again."""
    known = Act.objects.filter(scan_id=ask.scan_id).first() if ask.scan_id else None
    if known and known.undoes and first_of_chain(known) == first_of_chain(act):
        return known.undoes  # the same request again
    if is_gone(act):
        raise _undone(act)
    checked_item_is_the_same(act)
    return last_of_chain(act)


def _undone(act: Act) -> Refused:
    return Refused(
        "ledger.undone",
        "That was undone already: nothing moved.",
        {"act": act.pk, "undone_by": last_of_chain(act).pk},
    )


def _gone_by_undoing(act: Act) -> Act | None:
    """What is gone when this act is undone; nothing where that puts it in force again."""
    if act.undoes is None:
        return act
    return None if act.takes_back_id is not None else act.undoes.takes_back


def _places_of(act: Act, rows: Iterable[Movement]) -> dict[int, set[Place]]:
    """Where an act may have changed something, by item."""
    places: dict[int, set[Place]] = defaultdict(set)
    if act.bin is not None:
        places[act.bin.item_id].add(act.bin.place)
    for row in rows:
        places[row.item_id] |= {row.source, row.target}
    return places


def _reverse(locked: Locked, fresh: Act, rows: Sequence[Movement]) -> None:
    for row in rows:
        leg = Leg(row.item_id, row.quantity, row.target, row.source, row.lot, row)
        cover(locked, fresh, leg)
        post(locked, fresh, leg)


def _set_right(locked: Locked, fresh: Act, place: Place, item: int) -> None:
    """Bring a place to what it would hold had the act never been.

    What was counted since stays as counted; what others took meanwhile lacks more now,
    or less.
    """
    if place.open_ended:
        return  # it owes what it owes
    more = known_of(place.pk, item).balance - locked.at(place, item)
    way = (locked.difference, place) if more > 0 else (place, locked.difference)
    if more:
        post(locked, fresh, Leg(item, abs(more), *way))


def know_again(bin: Bin) -> None:
    """Set what is known of a bin to what its acts that stand say.

    Its last count and look, what moved since, what its counts found, whether it asks for
    one.
    """
    known = known_of(bin.place_id, bin.item_id)
    counts = Act.objects.filter(bin=bin, verb__in=STATING)
    gone = counts.exclude(stands())
    CountAsked.objects.filter(bin=bin, answered_by__in=gone).update(answered_by=None)
    asking = _asking(bin, known)
    stated = counts.filter(stands()).exclude(counted=None).order_by("-at")
    Bin.objects.filter(pk=bin.pk).update(
        last_count=known.last_count,
        moved_since=known.moved_since,
        last_look=known.last_look,
        moved_at_look=known.moved_at_look,
        counted_at=stated.values_list("at", flat=True).first(),
        count_it=asking is not None,
        count_reason=asking.reason if asking else "",
    )
    CountFound.objects.filter(bin=bin).delete()
    CountFound.objects.bulk_create(
        CountFound(act_id=row.act, bin=bin, difference=row.difference, moved=row.moved)
        for row in known.found
    )
    want_recheck(bin.item_id)


def _asking(bin: Bin, known: Known) -> CountAsked | None:
    """Why a bin asks to be counted now, if it does."""
    open_ones = CountAsked.objects.filter(bin=bin, answered_by=None)
    open_ones.exclude(missing=None).filter(act__gt=known.last_count or 0).delete()
    CountAsked.objects.bulk_create(
        CountAsked(bin=bin, act_id=act, missing=missing, reason=rules.came_out(missing))
        for act, missing in known.missing.items()
    )
    asking = open_ones.filter(Q(act=None) | stands("act"))
    return asking.order_by(F("act").asc(nulls_first=True), "pk").last()
