"""The only writers of bits: fitting one from its bin, and what befalls it."""

from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.db.models import Max

from inventory.errors import Refused
from inventory.forecasting.models import EVENTS, Bit, BitEvent, BitWork
from inventory.forecasting.queries.tools import holes_on
from inventory.forecasting.rules.bits import BitState
from inventory.ledger.actions import undoing, verbs
from inventory.ledger.actions.posting import Ask, Done, want_recheck
from inventory.ledger.queries import Act, Bin, single_place
from inventory.ledger.queries.standing import first_of_chain
from inventory.ledger.rules import Verb
from inventory.people.actions import hold_numbers
from inventory.people.models import User
from inventory.planning.models import Assembly


def fit_from_bin(*, bin: Bin, ask: Ask) -> tuple[Bit, Done]:
    """Take a fresh bit from its bin and fit it; the one fitted before is set aside.

    The same scan id fits one bit only. Errors: `forecasting.not_a_drill`.
    """
    if not bin.item.sort.one_at_a_time:
        raise Refused(
            "forecasting.not_a_drill", f"{bin} holds {bin.item.words}, not a drill."
        )
    with transaction.atomic():
        hold_numbers()
        done = verbs.pull(bin=bin, quantity=1, to=single_place("unplanned"), ask=ask)
        if done.repeated:
            rows = Bit.objects.filter(item=bin.item, events__at=done.act.at)
            return rows.latest("pk"), done
        return _happen(_new_bit(bin), BitState.FITTED, ask.by, ask.now), done


def undo_act(*, act: Act, ask: Ask) -> Done:
    """Undo an act, or undo its undo; a bit that it fitted was never taken then.

    Errors: as `undoing.undo`; `forecasting.bit_used` where it has drilled since.
    """
    first = first_of_chain(act)
    with transaction.atomic():
        done = undoing.undo(act=act, ask=ask)
        bin = first.bin if first.verb == Verb.PULL and not done.repeated else None
        if bin is not None and bin.item.sort.one_at_a_time:
            if done.act.takes_back_id is not None:
                _unfit(bin.item_id, first)
            else:
                _happen(_new_bit(bin), BitState.FITTED, first.by, first.at)
    return done


def _unfit(item: int, act: Act) -> None:
    """The bit goes, and the one that it replaced is fitted again."""
    at_once = BitEvent.objects.filter(bit__item=item, at=act.at)
    for bit in Bit.objects.filter(item=item, events__in=at_once).distinct():
        if at_once.filter(bit=bit, event=BitState.FITTED).exists():
            since = bit.events.exclude(at=act.at).filter(back_at=None)
            if since.exists() or bit.works.exists():
                raise Refused(
                    "forecasting.bit_used",
                    f"Bit {bit.number} has been in use since: say on its page what "
                    "became of it. Nothing was changed.",
                    {"bit": bit.number},
                )
            bit.events.all().delete()
            bit.delete()
    before = Bit.objects.filter(item=item, events__in=at_once).first()
    is_free = not Bit.objects.filter(item=item, state=BitState.FITTED).exists()
    at_once.delete()
    if before is not None and is_free:
        Bit.objects.filter(pk=before.pk).update(state=BitState.FITTED)
    want_recheck(item)


def _new_bit(bin: Bin) -> Bit:
    hold_numbers()
    number = (Bit.objects.aggregate(most=Max("number"))["most"] or 0) + 1
    return Bit.objects.create(number=number, item=bin.item, state=BitState.SET_ASIDE)


def happen(*, bit: Bit, event: str, by: User, now: datetime) -> Bit:
    """Record fitted, dull, broken, resharpened or set aside.

    Errors: `forecasting.event`.
    """
    if event not in dict(EVENTS):
        raise Refused(
            "forecasting.event",
            f"'{event[:20]}' cannot happen to a bit: say "
            + ", ".join(word for _code, word in EVENTS)
            + ".",
        )
    with transaction.atomic():
        return _happen(bit, event, by, now)


def take_event_back(*, bit: Bit, by: User, now: datetime) -> BitEvent:
    """What was noted last of a bit did not happen; the bit that it displaced is fitted.

    Errors: `forecasting.bit_first` for its first, which came with a pull.
    """
    with transaction.atomic():
        before, last = (None, None, *bit.happened)[-2:]
        if before is None or last is None:
            raise Refused(
                "forecasting.bit_first",
                f"Bit {bit.number} came from its bin so: take that pull back instead.",
            )
        gone = [last, *_displaced_by(last)]
        BitEvent.objects.filter(pk__in=[row.pk for row in gone]).update(
            back_at=now, back_by=by
        )
        _be(bit, before.event)
        for row in gone[1:]:
            _be(row.bit, BitState.FITTED)
        if before.event == BitState.FITTED and len(gone) == 1:
            _give_way(bit, by)
        want_recheck(bit.item_id)
    return last


def _displaced_by(fitted: BitEvent) -> list[BitEvent]:
    """What set another bit aside as this one was fitted, where nothing befell it since."""
    if fitted.event != BitState.FITTED:
        return []
    rows = BitEvent.objects.filter(
        bit__item=fitted.bit.item_id,
        event=BitState.SET_ASIDE,
        at=fitted.at,
        back_at=None,
    )
    return [row for row in rows.select_related("bit") if row.bit.happened[-1] == row]


def _be(bit: Bit, state: str) -> None:
    Bit.objects.filter(pk=bit.pk).update(state=state)
    bit.state = state


def _give_way(bit: Bit, by: User) -> None:
    """It is fitted again, unless another was fitted meanwhile: then it was set aside."""
    other = Bit.objects.filter(item=bit.item, state=BitState.FITTED).exclude(pk=bit.pk)
    fitted = BitEvent.objects.filter(
        bit__in=other, event=BitState.FITTED, back_at=None
    ).last()
    if fitted is not None:
        _happen(bit, BitState.SET_ASIDE, by, fitted.at)


def drilled_with(*, assembly: Assembly, bit: Bit, by: User) -> None:
    """A closed assembly's holes were drilled with a bit that was not fitted then."""
    if assembly.closed_at is not None:
        BitWork.objects.create(
            bit=bit, assembly=assembly, closed_at=assembly.closed_at, by=by
        )
        want_recheck(bit.item_id)


def _happen(bit: Bit, event: str, by: User, now: datetime) -> Bit:
    if event == BitState.FITTED:
        others = Bit.objects.filter(item=bit.item, state=BitState.FITTED).exclude(
            pk=bit.pk
        )
        for other in others:
            _happen(other, BitState.SET_ASIDE, by, now)
    holes = holes_on(bit, until=now)
    BitEvent.objects.create(
        bit=bit, event=event, holes=Decimal(str(round(holes, 1))), at=now, by=by
    )
    bit.state = event
    bit.save(update_fields=["state"])
    want_recheck(bit.item_id)
    return bit
