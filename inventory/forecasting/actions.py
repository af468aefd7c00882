"""The only writers of bits: fitting one from its bin, and what befalls it."""

from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.db.models import Max

from inventory.errors import Refused
from inventory.forecasting.models import EVENTS, Bit, BitEvent
from inventory.forecasting.queries.tools import holes_on
from inventory.forecasting.rules.bits import BitState
from inventory.ledger.actions import verbs
from inventory.ledger.actions.posting import Ask, Done, want_recheck
from inventory.ledger.queries import Bin, single_place
from inventory.people.actions import hold_numbers
from inventory.people.models import User


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
        number = (Bit.objects.aggregate(most=Max("number"))["most"] or 0) + 1
        bit = Bit.objects.create(number=number, item=bin.item, state=BitState.SET_ASIDE)
        return _happen(bit, BitState.FITTED, ask.by, ask.now), done


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


def _happen(bit: Bit, event: str, by: User, now: datetime) -> Bit:
    if event == BitState.FITTED:
        others = Bit.objects.filter(item=bit.item, state=BitState.FITTED).exclude(
            pk=bit.pk
        )
        for other in others:
            _happen(other, BitState.SET_ASIDE, by, now)
    BitEvent.objects.create(
        bit=bit,
        event=event,
        holes=Decimal(str(round(holes_on(bit), 1))),
        at=now,
        by=by,
    )
    bit.state = event
    bit.save(update_fields=["state"])
    want_recheck(bit.item_id)
    return bit
