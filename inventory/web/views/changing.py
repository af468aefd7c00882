"""Changing what an item is called and what it is, on its page."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_POST

from inventory.catalog.actions.changing import call_also, call_no_more
from inventory.catalog.models import Item
from inventory.catalog.queries import change_numbered, item_numbered
from inventory.catalog.rules import Description, described
from inventory.errors import Refused
from inventory.forecasting.actions import changing
from inventory.planning.actions.importing import teach
from inventory.web.itemforms import OtherName, Really, Rename
from inventory.web.parts import ask, checked, done, here, is_sure, keep, person
from inventory.web.views.items import page_of


@require_POST
def item_name(request: HttpRequest, pk: int) -> HttpResponse:
    """Call it otherwise."""
    row = here(item_numbered, pk)
    form = Rename(request.POST)
    keep(request, "item.html", {**page_of(row), "rename": form})
    words = checked(form)["words"]
    changing.rename(item=row, words=words, ask=ask(request))
    return done(request, f"It is called '{row.words}' now. {_labels(row)}", "item", pk)


@require_POST
def item_really(request: HttpRequest, pk: int) -> HttpResponse:
    """It was read wrongly, or is another item that is here."""
    row = here(item_numbered, pk)
    form = Really(request.POST)
    keep(request, "item.html", {**page_of(row), "really": form})
    means = _means(checked(form))
    change = changing.be_really(
        item=row, means=means, ask=ask(request), sure=is_sure(request)
    )
    said = f"{change.said}. {_labels(change.item)}"
    return done(request, said, "item", change.item.pk)


def _means(data: dict[str, str]) -> str | Description:
    if data["kind"]:
        return described(
            data["kind"], size=data["size"], form=data["form"], name=data["name"]
        )
    if not data["callout"].strip():
        raise Refused(
            "callout.empty", "Say what it is: a callout, a name, or its kind and size."
        )
    return data["callout"]


def _labels(row: Item) -> str:
    bins = ", ".join(str(bin.number) for bin in row.bins.filter(retired_at=None))
    return f"Print new labels for: bin {bins}." if bins else ""


@require_POST
def item_names(request: HttpRequest, pk: int) -> HttpResponse:
    """Another name for it; a name that asked for something unread asks for it now."""
    row = here(item_numbered, pk)
    form = OtherName(request.POST)
    keep(request, "item.html", {**page_of(row), "other_name": form})
    text = checked(form)["text"]
    teach(text=text, item=row, by=person(request))
    call_also(item=row, text=text)
    return done(request, f"'{text}' means it, too.", "item", pk)


@require_POST
def item_unname(request: HttpRequest, pk: int) -> HttpResponse:
    """A name of it that it no longer goes by."""
    row = here(item_numbered, pk)
    keep(request, "item.html", page_of(row))
    text = checked(OtherName(request.POST))["text"]
    call_no_more(item=row, text=text)
    return done(request, f"'{text}' no longer means it.", "item", pk)


@require_POST
def item_change_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a change of an item back."""
    change = here(change_numbered, pk)
    keep(request, "item.html", page_of(change.item))
    changing.take_back(change=change, ask=ask(request))
    said = f"Taken back: {change.said}."
    return done(request, said, "item", (change.other or change.item).pk)
