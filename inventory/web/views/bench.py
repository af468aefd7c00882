"""The bench page, and the addresses that labels carry."""

from collections.abc import Mapping
from pathlib import Path

from django.contrib.staticfiles.finders import find
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_safe

from inventory.catalog.queries import item_numbered
from inventory.errors import Refused
from inventory.forecasting.rules.bits import BitState
from inventory.ledger.rules import Verb
from inventory.ledger.rules.looking import Seen, Sight
from inventory.ordering.queries import order_numbered
from inventory.planning.queries import assembly_numbered
from inventory.scanning.rules.saying import ACTIONS, Action, Key, PullReason
from inventory.trade import callouts, codes
from inventory.trade.cautions import about
from inventory.trade.drawing import painted
from inventory.trade.outlines import pair_drawing
from inventory.web.parts import here, key_after

SHELL_SECONDS = 300
NUMBERS = {action: number for number, action in ACTIONS.items()}
VERBS = (Verb.PULL, Verb.RETURN, Verb.COUNT, Verb.LOOK, Verb.SCRAP, Verb.RECEIVE)
SIGHTS = (Sight.EMPTY, Sight.FEW, Sight.PLENTY)
REASONS = {
    each: each.value
    for each in (PullReason.REPAIR, PullReason.PRACTICE, PullReason.OTHER)
}
WRONG_REASONS = {
    PullReason.INSTEAD: "substitute",
    PullReason.SPARE: "spare",
    PullReason.ELSEWHERE: "other assembly",
}
BIT_EVENTS = (
    BitState.FITTED,
    BitState.DULL,
    BitState.BROKEN,
    BitState.RESHARPENED,
)
KEYS = (Key.UNDO, Key.CANCEL, Key.LEAVE, Key.ENTER)


def _card(action: Action) -> str:
    """The code of an action's card: a button does what its card does."""
    return codes.make("C", NUMBERS[action])


def _reasons(words: Mapping[PullReason, str]) -> list[tuple[str, str, str]]:
    return [(_card(key), key, said) for key, said in words.items()]


@ensure_csrf_cookie
@require_safe
def bench(request: HttpRequest) -> HttpResponse:
    """The page that listens; an assembly or order named in its address is opened first.

    The page holds nothing personal, so that a device may keep it for when it has no
    connection; all it shows comes by data calls.
    """
    pk, order = key_after(request, "assembly"), key_after(request, "order")
    chosen = assembly_numbered(pk) if pk else None
    choose = codes.make("S", chosen.pk) if chosen and chosen.pk <= codes.LARGEST else ""
    if order:
        choose = f"order {order_numbered(order).number}"
    response = render(
        request,
        "bench.html",
        {
            "verbs": [(_card(verb), verb) for verb in VERBS],
            "reasons": _reasons(REASONS),
            "wrong_reasons": _reasons(WRONG_REASONS),
            "sights": [(_card(each), str(Seen(each))) for each in SIGHTS],
            "bit_events": [(_card(event), event) for event in BIT_EVENTS],
            "cards": {key.value: _card(key) for key in KEYS},
            "choose": choose,
            "cautions": about("driving") + about("drilling"),
        },
    )
    if not choose:
        response.headers["Cache-Control"] = f"private, max-age={SHELL_SECONDS}"
    return response


@require_safe
def offline(request: HttpRequest) -> FileResponse:
    """The script that keeps the page on the device; its reach is the whole shop."""
    path = Path(find("bench-offline.js") or "")
    headers = {"Cache-Control": "no-cache"}
    return FileResponse(
        path.open("rb"), content_type="text/javascript", headers=headers
    )


@require_safe
def pair(request: HttpRequest, this: int, asked: int) -> HttpResponse:
    """Two items side by side at one scale, as a piece of a page.

    Errors: `web.no_drawing` where one of them cannot be drawn.
    """
    rows = [here(item_numbered, pk) for pk in (this, asked)]
    readings = [each for row in rows for each in callouts.readings(row.callout).found]
    drawing = pair_drawing(*readings) if len(readings) == len(rows) else None
    if drawing is None:
        raise Refused("web.no_drawing", "These two cannot be drawn side by side.")
    return render(request, "_drawing.html", {"painting": painted(drawing, 320, 220)})


@require_safe
def label(request: HttpRequest, code: str) -> HttpResponse:
    """A label's address: on to its bin or assembly. Errors: `code.*`, `web.no_page`."""
    own = codes.read(code)
    if own.type == "B":
        return redirect("bin", own.number)
    if own.type == "S":
        return redirect("assembly", own.number)
    if own.type == "R":
        return redirect("order", own.number)
    if own.type == "T":
        return redirect("bits")
    raise Refused(
        "web.no_page",
        f"{codes.in_the_clear(own.code)} is a card: scan it at the bench.",
    )
