"""What leaves the shop and comes back: lent, borrowed; and moved between bins."""

import uuid
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import (
    require_http_methods,
    require_POST,
    require_safe,
)

from inventory import days
from inventory.ledger import queries as ledger
from inventory.ledger import rules
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin, open_place
from inventory.ledger.actions.loans import due_back
from inventory.ledger.actions.posting import Ask
from inventory.ledger.queries import Bin, Place, bin_numbered
from inventory.ledger.queries.loans import loan_of, loans
from inventory.ledger.rules import Verb
from inventory.ordering.queries.usual import checked_likely
from inventory.web import forms
from inventory.web.parts import ask, checked, done, is_sure, keep, posted


def _page(row: Bin) -> dict[str, Any]:
    fresh = {"scan_id": uuid.uuid4()}
    others = [each for each in ledger.bins_of([row.item_id]) if each.pk != row.pk]
    return {
        "bin": row,
        "on_hand": ledger.quantity_in(row),
        "form": forms.Lend(initial=fresh),
        "move": forms.MoveOver(initial={**fresh, "scan_id": uuid.uuid4()}),
        "others": others,
        "known": ledger.people_outside(),
        "people": loans([row.item_id]),
    }


@require_http_methods(["GET", "HEAD", "POST"])
def lend(request: HttpRequest, number: int) -> HttpResponse:
    """To or from somebody outside the shop."""
    row = bin_numbered(number)
    form = forms.Lend(posted(request), initial={"scan_id": uuid.uuid4()})
    page = {**_page(row), "form": form}
    if request.method != "POST":
        return render(request, "bin_lend.html", page)
    keep(request, "bin_lend.html", page)
    data = checked(form)
    checked_likely(
        verb=Verb.LEND,
        bin=row,
        quantity=data["quantity"],
        sure=is_sure(request),
        scan_id=data["scan_id"],
    )
    with transaction.atomic():
        who = _moved(row, data, ask(request, data["scan_id"]))
        if data["due_on"]:
            due_back(
                place=who, item=row.item, on=data["due_on"], today=timezone.localdate()
            )
    said = f"{data['quantity']} of {row.item.words}: noted with {data['who']}."
    return done(request, said, "bin", number)


def _moved(bin: Bin, data: dict[str, Any], by: Ask) -> Place:
    """Book it; the person it is with. An older loan's day is not this one's."""
    theirs = data["what"] in (forms.BORROW, forms.GIVE_BACK)
    kind = rules.LENDER if theirs else rules.BORROWER
    who = open_place(kind=kind, name=data["who"])
    quantity = data["quantity"]
    if all(row.place.pk != who.pk for row in loans([bin.item_id])):
        due_back(place=who, item=bin.item, on=None, today=timezone.localdate())
    if data["what"] == forms.TAKE_BACK:
        verbs.get_back(bin=bin, quantity=quantity, from_=who, ask=by)
    elif data["what"] == forms.BORROW:
        verbs.receive(bin=bin, quantity=quantity, supplier=who, ask=by)
    else:
        verbs.lend(bin=bin, quantity=quantity, to=who, ask=by)
    return who


@require_safe
def lent(request: HttpRequest) -> HttpResponse:
    """All that is lent and borrowed."""
    return render(request, "lent.html", _lent())


def _lent() -> dict[str, Any]:
    rows = loans()
    held: dict[int, Bin] = {}
    for bin in ledger.bins_of({row.item.pk for row in rows}):
        held.setdefault(bin.item_id, bin)
    return {
        "rows": [
            (row, held.get(row.item.pk), forms.DueOn(initial={"on": row.due_on}))
            for row in rows
        ]
    }


@require_POST
def lent_until(request: HttpRequest, place: int, item: int) -> HttpResponse:
    """Another day on which it is due back, or none."""
    keep(request, "lent.html", _lent())
    row = loan_of(place, item)
    on = checked(forms.DueOn(request.POST))["on"]
    due_back(place=row.place, item=row.item, on=on, today=timezone.localdate())
    said = f"due back {days.said(on)}" if on else "no day is noted"
    return done(request, f"{row.words}: {said}.", "lent")


@require_POST
def move(request: HttpRequest, number: int) -> HttpResponse:
    """Into another bin of the same item."""
    row = bin_numbered(number)
    form = forms.MoveOver(request.POST)
    keep(request, "bin_lend.html", {**_page(row), "move": form})
    data = checked(form)
    by = ask(request, data["scan_id"])
    checked_likely(
        verb=Verb.MOVE,
        bin=row,
        quantity=data["quantity"],
        sure=is_sure(request),
        scan_id=data["scan_id"],
    )
    with transaction.atomic():
        to = bin_numbered(data["to"]) if data["to"] else _split_off(row, data, by)
        verbs.move(bin=row, quantity=data["quantity"], to=to, ask=by)
    said = f"{data['quantity']} of {row.item.words} are in bin {to.number} now."
    if not to.labelled:
        said += " Print its label."
    return done(request, said, "bin", to.number)


def _split_off(row: Bin, data: dict[str, Any], by: Ask) -> Bin:
    """A new bin for a part of this one; the same form again makes no second one."""
    before = ledger.act_of_scan(data["scan_id"])
    if before is not None:
        moved = before.told_by
        return bin_numbered(moved.target.bin.number) if moved else row
    return open_bin(item=row.item, by=by.by, spot=data["spot"])
