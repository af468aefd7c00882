"""Pieces that were recorded as another item than they are: moved under the right one.

The record stays as it was: what lies in a bin, at an assembly or with a person leaves
under the one item and comes back under the other, each place by an act of its own.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from django.db import transaction

from inventory.catalog.models import Item
from inventory.ledger import rules
from inventory.ledger.actions.posting import (
    Ask,
    Leg,
    Locked,
    ask_for_a_count,
    open_act,
    post,
)
from inventory.ledger.actions.undoing import know_again
from inventory.ledger.models import Act, Balance, Bin, Lot, LotInBin, Place
from inventory.ledger.queries import single_place
from inventory.ledger.queries.lots import lots_in
from inventory.ledger.rules import Verb

# Where pieces of an item can be that are still the shop's, or somebody's it knows.
_WHERE = (
    rules.BIN,
    rules.ASSEMBLY,
    rules.BORROWER,
    rules.LENDER,
    rules.UNPLANNED,
)


def merge_pieces(*, old: Item, new: Item, ask: Ask) -> dict[str, dict[str, int]]:
    """Move all pieces of an item, wherever they are, under another; its bins follow.

    Returns what moved, by the keys of the places, for `part_pieces`.
    """
    ask = replace(ask, scan_id=None)  # an act for each place
    with transaction.atomic():
        there = Balance.objects.filter(item=old, place__kind__in=_WHERE)
        held = {row.place_id: row.quantity for row in there}
        bins = list(Bin.objects.filter(item=old).select_related("place"))
        _carry_over(old, new, bins, held, ask)
    moved = {str(place): quantity for place, quantity in held.items() if quantity}
    return {"bins": {str(bin.pk): bin.number for bin in bins}, "places": moved}


def part_pieces(
    *, old: Item, new: Item, bins: Iterable[int], places: Mapping[int, int], ask: Ask
) -> None:
    """Give an item back its `bins` with what is in them now, and what it had elsewhere.

    Elsewhere (`places`: units by place) at most as much as is still there.
    """
    ask = replace(ask, scan_id=None)
    with transaction.atomic():
        rows = list(
            Bin.objects.filter(pk__in=list(bins), item=old).select_related("place")
        )
        held = _held(old, places, {row.place_id for row in rows})
        _carry_over(old, new, rows, held, ask)


def _held(item: Item, places: Mapping[int, int], bins: set[int]) -> dict[int, int]:
    there = Balance.objects.filter(item=item, place__in={*places, *bins})
    held = {}
    for row in there.select_related("place"):
        if row.place_id in bins:
            held[row.place_id] = row.quantity
        elif row.place.kind != rules.BIN:
            had = places[row.place_id]
            least, most = sorted((0, row.quantity))
            held[row.place_id] = min(max(had, least), most)
    return held


def _carry_over(
    old: Item, new: Item, bins: list[Bin], held: Mapping[int, int], ask: Ask
) -> None:
    """Each place's pieces leave under the old item and come under the new one."""
    places = Place.objects.in_bulk([*held])
    between = single_place(rules.MERGED)
    there = {*places.values(), *(bin.place for bin in bins), between}
    locked = Locked({old.pk: there, new.pk: there})
    by_place = {bin.place_id: bin for bin in bins}
    for place in sorted({*by_place, *held}):
        bin = by_place.get(place)
        much = abs(held.get(place, 0))
        payload = {
            "bin": bin.pk if bin else None,
            "quantity": much,
            "from": old.pk if much else None,
            "to": new.pk if much else None,
        }
        act, _ = open_act(Verb.MERGE, ask, payload, bin=bin)
        lots = _lots_under(new, bin, act) if bin else []
        at = bin.place if bin else places[place]
        _swap(locked, act, (old, new), at, held.get(place, 0), lots)
        if bin is not None:
            _holds_now(bin, new, act)


def _swap(
    locked: Locked,
    act: Act,
    items: tuple[Item, Item],
    place: Place,
    quantity: int,
    lots: list[Lot],
) -> None:
    old, new = (item.pk for item in items)
    between, much = single_place(rules.MERGED), abs(quantity)
    if not much:
        return
    away, back = (place, between), (between, place)
    if quantity < 0:  # a lender has so many less than nothing
        away, back = back, away
    post(locked, act, Leg(old, much, *away))
    # A lot that lay in the bin lies there still: each goes with a piece of its own.
    each = [*lots[: much - 1]]
    for lot in each:
        post(locked, act, Leg(new, 1, *back, lot))
    last = lots[len(each)] if len(lots) > len(each) else None
    post(locked, act, Leg(new, much - len(each), *back, last))


def _lots_under(item: Item, bin: Bin, act: Act) -> list[Lot]:
    """The lots in a bin, of the same names and papers under the new item, newest first."""
    inside = [stay.lot for stay in reversed(lots_in(bin))]
    LotInBin.objects.filter(bin=bin, emptied_by=None).update(emptied_by=act)
    return [
        Lot.objects.get_or_create(
            item=item,
            name=lot.name,
            defaults={"paper": lot.paper, "expires_on": lot.expires_on},
        )[0]
        for lot in inside
    ]


def _holds_now(bin: Bin, item: Item, act: Act) -> None:
    bin.item = item
    Bin.objects.filter(pk=bin.pk).update(item=item, labelled=False)
    know_again(bin)
    ask_for_a_count(bin.place, f"its item was merged into {item.words}", act)
