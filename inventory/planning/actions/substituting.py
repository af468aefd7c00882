"""Using one item for another's need, with its reason, from the right bin."""

from django.db import transaction

from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.ledger.actions.posting import Ask, Done, want_recheck
from inventory.ledger.actions.verbs import pull
from inventory.ledger.queries import Bin
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly, Substitution
from inventory.trade.callouts import parse
from inventory.trade.substitutes import reason_for


def substitute(
    *,
    assembly: Assembly,
    needed: Item,
    bin: Bin,
    quantity: int,
    approval: str,
    ask: Ask,
) -> Done:
    """Pull from a bin what is counted against another item's need.

    The pieces leave the bin they come from; the need that they meet is the other's.
    Errors: `substitute.unknown` for a part that may not stand in,
    `planning.approval` for a blind rivet without a named approval, and as a pull.
    """
    rule = reason_for(parse(needed.callout), parse(bin.item.callout))
    if rule.approval and not approval.strip():
        raise Refused(
            "planning.approval",
            f"{bin.item.words} for {needed.words} needs an approval: name who allowed "
            "it, and on which paper. Nothing moved.",
            {"expected": "who allowed it"},
        )
    with transaction.atomic():
        place = place_to_pull_for(assembly=assembly, by=ask.by, now=ask.now)
        done = pull(bin=bin, quantity=quantity, to=place, ask=ask)
        if not done.repeated:
            Substitution.objects.create(
                assembly=assembly,
                needed=needed,
                used=bin.item,
                quantity=quantity,
                why=rule.why,
                approval=approval.strip()[:160],
                act=done.act,
            )
            want_recheck(needed.pk)
    return done
