"""Receiving: for an order's line, or what came without an order."""

import uuid
from typing import Any
from urllib.parse import quote, unquote, urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from inventory.catalog.actions import item_asked, teach_callout
from inventory.catalog.models import Item
from inventory.ledger.actions.bins import lot_of
from inventory.ledger.actions.evidence import keep_photograph
from inventory.ledger.queries import bin_numbered, bins
from inventory.ordering import queries as ordering
from inventory.ordering.actions.placing import supplier_called
from inventory.ordering.actions.receiving import Papers, WeighedDelivery, receive
from inventory.photos.opening import decode_photo, evidence_photo
from inventory.planning.queries import waiting_for
from inventory.trade.bags.reading import without_identifier
from inventory.web.forms import BagCodes, Receive, ReceiveLoose
from inventory.web.parts import ask, checked, done, here, is_sure, keep, person, posted
from inventory.web.uploads import shop_folder

# Nobody prints more codes than this on one bag.
MOST_CODES = 12


@require_http_methods(["GET", "HEAD", "POST"])
def line_in(request: HttpRequest, pk: int) -> HttpResponse:
    """What arrived of a line."""
    line = here(ordering.line_numbered, pk)
    form = Receive(
        posted(request),
        request.FILES or None,
        item=line.item_id,
        initial={**_scanned(request), "scan_id": uuid.uuid4()},
    )
    owed = next(
        (row for row in ordering.still_owed(line.order) if row.line.pk == pk), None
    )
    page = {
        "form": form,
        "line": line,
        "owed": owed,
        "ordered": ordering.ordered_pieces(line),
    }
    if request.method != "POST":
        return render(request, "receive_line.html", page)
    keep(request, "receive_line.html", page)
    data = checked(form)
    picture = _picture(data)
    receipt = receive(
        bin=bin_numbered(data["bin"]),
        supplier=line.order.supplier,
        ask=ask(request, data["scan_id"]),
        pieces=_pieces(data),
        line=line,
        papers=_papers(data),
        closes=data["closes"],
        sure=is_sure(request),
    )[1]
    _keep(request, picture, data, line.item)
    said = f"{receipt.pieces:,} of {line.item.words} received into bin {data['bin']}."
    said = f"{said} {ordering.how_complete(line)}"
    return done(request, said, "order", line.order.number)


def _scanned(request: HttpRequest) -> dict[str, str]:
    """What the bag's codes said, for the form to begin with."""
    names = ("bin", "pieces", "lot", "paper", "expires_on", "supplier")
    return {name: request.GET[name] for name in names if request.GET.get(name)}


@require_http_methods(["GET", "HEAD", "POST"])
def bag(request: HttpRequest) -> HttpResponse:
    """The codes of one bag, scanned one after another or seen in a photo."""
    texts = [unquote(each) for each in request.POST.getlist("codes")][:MOST_CODES]
    page: dict[str, Any] = {"texts": [], "found": None}
    if request.method != "POST":
        return render(request, "receive_bag.html", page)
    form = BagCodes(request.POST, request.FILES)
    keep(request, "receive_bag.html", _bag_page(texts))
    data = checked(form)
    if data["code"]:
        texts.append(unquote(data["code"]))
    if data["photo"]:
        seen = decode_photo(data["photo"].read(), receiving=True)
        texts += [f"{each.identifier}{each.text}" for each in seen]
    texts = list(dict.fromkeys(texts))[:MOST_CODES]
    if data["teach"]:
        _teach(data["teach"], data["callout"])
    return render(request, "receive_bag.html", _bag_page(texts))


def _bag_page(texts: list[str]) -> dict[str, Any]:
    found = ordering.bag_found(texts) if texts else None
    page: dict[str, Any] = {
        "texts": [(quote(text), _legible(text)) for text in texts],
        "found": found,
    }
    if found is not None:
        contents = found.bag.contents
        said = {
            "pieces": found.pieces or "",
            "lot": contents.lot,
            "expires_on": contents.expires.isoformat() if contents.expires else "",
        }
        page["unread"] = [
            (quote(text), _legible(text))
            for text in (*found.bag.unread, *(contents.parts if not found.item else ()))
        ]
        page["begins"] = urlencode(
            {name: value for name, value in said.items() if value}
        )
        if found.item is not None:
            page["waiting"] = waiting_for([found.item.pk]).get(found.item.pk, [])
    return page


def _legible(text: str) -> str:
    """A code with its control characters as signs."""
    signs = {"\x1d": "␝", "\x1e": "␞", "\x04": "␄"}
    return "".join(
        signs.get(each, each if each.isprintable() else "?") for each in text
    )


def _teach(text: str, callout: str) -> None:
    """Let a code that nobody knew name an item, once and for all."""
    plain = without_identifier(unquote(text).strip())[1]
    teach_callout(text=plain, item=item_asked(text=callout))


@require_safe
def loose(request: HttpRequest) -> HttpResponse:
    """Choose the bin that something without an order went into."""
    return render(request, "receive.html", {"bins": bins()})


@require_http_methods(["GET", "HEAD", "POST"])
def loose_in(request: HttpRequest, number: int) -> HttpResponse:
    """What arrived without an order."""
    bin = bin_numbered(number)
    start: dict[str, Any] = {
        **_scanned(request),
        "scan_id": uuid.uuid4(),
        "bin": number,
    }
    owed = ordering.owed_of(bin.item_id)
    form = ReceiveLoose(
        posted(request),
        request.FILES or None,
        item=bin.item_id,
        owed=owed,
        initial={**start, "line": owed[0].line.pk if owed else None},
    )
    page = {
        "form": form,
        "bin": bin,
        "suppliers": ordering.supplier_names(),
    }
    if request.method != "POST":
        return render(request, "receive_bin.html", page)
    keep(request, "receive_bin.html", page)
    data = checked(form)
    picture = _picture(data)
    line = here(ordering.line_numbered, data["line"]) if data["line"] else None
    receipt = receive(
        bin=bin_numbered(data["bin"]),
        supplier=line.order.supplier
        if line
        else supplier_called(name=data["supplier"]),
        ask=ask(request, data["scan_id"], "" if line else "no order"),
        pieces=_pieces(data),
        line=line,
        papers=_papers(data),
        sure=is_sure(request),
    )[1]
    _keep(request, picture, data, bin.item)
    said = f"{receipt.pieces:,} of {bin.item.words} received into bin {data['bin']}."
    if line:
        said = f"{said} For order {line.order.number}. {ordering.how_complete(line)}"
    return done(request, said, "bin", data["bin"])


def _pieces(data: dict[str, Any]) -> int | WeighedDelivery:
    if data["pieces"]:
        return int(data["pieces"])
    return WeighedDelivery(data["grams"], data["sample_pieces"], data["sample_grams"])


def _picture(data: dict[str, Any]) -> bytes:
    """The photographed papers made anew, before anything is received; '' for none."""
    return evidence_photo(data["photo"].read()) if data["photo"] else b""


def _keep(
    request: HttpRequest, picture: bytes, data: dict[str, Any], item: Item
) -> None:
    """Keep the papers' photograph with the lot they came with."""
    if picture:
        keep_photograph(
            lot=lot_of(item=item, name=data["lot"]).pk,
            picture=picture,
            caption=f"Certificate of lot {data['lot']}",
            folder=shop_folder(),
            by=person(request),
            now=timezone.now(),
        )


def _papers(data: dict[str, Any]) -> Papers:
    return Papers(data["lot"], data["paper"], data["expires_on"])
