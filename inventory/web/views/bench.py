"""The bench page, and the addresses that labels carry."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from inventory.errors import Refused
from inventory.planning.queries import assembly_numbered
from inventory.trade import codes
from inventory.trade.cautions import about
from inventory.web.parts import key_after

VERBS = ((1, "pull"), (2, "return"), (3, "count"), (4, "scrap"), (5, "receive"))
REASONS = ((11, "repair"), (12, "practice"), (13, "other"))
BIT_EVENTS = ((24, "fitted"), (21, "dull"), (22, "broken"), (23, "resharpened"))
CARDS = {"undo": 6, "cancel": 7, "leave": 8, "enter": 9}

Buttons = list[tuple[str, str]]


def _buttons(cards: tuple[tuple[int, str], ...]) -> Buttons:
    return [(codes.make("C", number), words) for number, words in cards]


@require_safe
def bench(request: HttpRequest) -> HttpResponse:
    """The page that listens; an assembly named in its address is opened on arrival."""
    pk = key_after(request, "assembly")
    chosen = assembly_numbered(pk) if pk else None
    choose = codes.make("S", chosen.pk) if chosen and chosen.pk <= 9999 else ""
    return render(
        request,
        "bench.html",
        {
            "verbs": _buttons(VERBS),
            "reasons": _buttons(REASONS),
            "bit_events": _buttons(BIT_EVENTS),
            "cards": {name: codes.make("C", n) for name, n in CARDS.items()},
            "choose": choose,
            "cautions": about("driving") + about("drilling"),
        },
    )


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
