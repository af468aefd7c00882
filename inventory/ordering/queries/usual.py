"""What quantities are usual of an item, so that a slip of the finger is asked about."""

from collections.abc import Collection

from django.db.models import (
    DecimalField,
    ExpressionWrapper,
    F,
    IntegerField,
    OuterRef,
    Subquery,
    Sum,
)
from django.db.models.functions import Cast, Coalesce

from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.ledger.queries import Bin, act_of_scan, quantity_in
from inventory.ledger.rules import Verb, is_unlikely
from inventory.ordering.models import Offer, OrderLine
from inventory.planning.models import Need
from inventory.prepared import Prepared


def _pieces(pieces: str) -> Coalesce:
    """The pieces of a pack, by count, or by weight where a piece's mass is known."""
    by_weight = ExpressionWrapper(
        F("pack_grams") * 1000 / F("item__piece_mass_mg"), DecimalField()
    )
    return Coalesce(F(pieces), Cast(by_weight, IntegerField()), 0)


_USUAL = Prepared(
    lambda items: Item.objects.filter(pk__in=items).values_list(
        "pk",
        Coalesce(
            Subquery(
                Offer.objects.filter(item=OuterRef("pk"))
                .order_by(_pieces("pack").desc())
                .values(most=_pieces("pack"))[:1]
            ),
            0,
        ),
        Coalesce(
            Subquery(
                OrderLine.objects.filter(item=OuterRef("pk"))
                .order_by((_pieces("pack_pieces") * F("packs")).desc())
                .values(most=_pieces("pack_pieces") * F("packs"))[:1]
            ),
            0,
        ),
        Coalesce(
            Subquery(
                Need.objects.filter(item=OuterRef("pk"))
                .order_by()
                .values("item")
                .annotate(all=Sum(F("each") * F("assembly__how_many")))
                .values("all")
            ),
            0,
        ),
    )
)


def usual_of(items: Collection[int]) -> dict[int, int]:
    """The most that is usual by item: a pack, an ordered line, all that is planned.

    In units; 0 where nothing is known. In one read.
    """
    return {item: int(max(known)) for item, *known in _USUAL(list(items))}


def checked_likely(
    *, verb: Verb, bin: Bin, quantity: int, sure: bool, scan_id: str | None = None
) -> None:
    """Errors: `ledger.unlikely` for a quantity far from what is usual here.

    Somebody is asked once only: not who is `sure`, nor what was booked under this id.
    """
    if not (sure or (scan_id and act_of_scan(scan_id))):
        held = quantity_in(bin)
        _asked_once(
            verb, bin.item, quantity, held, f"{bin} holds {held:,} by the record"
        )


def checked_likely_order(*, item: Item, pieces: int, sure: bool) -> None:
    """Errors: `ledger.unlikely` for more than is ever bought or needed of an item."""
    if not sure:
        _asked_once(Verb.RECEIVE, item, pieces, 0, "")


def _asked_once(verb: Verb, item: Item, quantity: int, held: int, said: str) -> None:
    usual = usual_of([item.pk])[item.pk]
    if not is_unlikely(verb, quantity, held, usual):
        return
    known = [said, f"the largest pack, order or need is {usual:,}" if usual else ""]
    told = ", ".join(each for each in known if each)
    raise Refused(
        "ledger.unlikely",
        f"{quantity:,} of {item.words} is far from what is usual"
        f"{': ' if told else ''}{told}. Say that it is right, or mend the number. "
        "Nothing was booked.",
        {"quantity": quantity, "held": held, "usual": usual},
    )
