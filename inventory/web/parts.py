"""What the views share: who asks, a checked form, the page a refusal goes back to."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar, cast

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.utils import timezone

from inventory.alerts.tasks import wake
from inventory.errors import Refused
from inventory.ledger.actions.posting import Ask
from inventory.people.models import User

View = Callable[..., HttpResponse]
Row = TypeVar("Row")
Page = tuple[str, Mapping[str, Any]]
ALONE: Page = ("refused.html", {})


def person(request: HttpRequest) -> User:
    """Who asks; every page but the sign-in is behind it."""
    return cast(User, request.user)


def ask(request: HttpRequest, scan_id: str | None = None, reason: str = "") -> Ask:
    """Who asks for an act, now, under the form's own id."""
    return Ask(
        by=person(request), now=timezone.now(), scan_id=scan_id or None, reason=reason
    )


# Refusals that ask whether what was keyed is right: 'It is right' goes on.
ASKING = frozenset(
    {
        "ledger.unlikely",
        "supply.complete",
        "catalog.exists",
        "catalog.unread",
        "forecasting.bit_ends",
    }
)


LOOPBACK = frozenset({"localhost", "127.0.0.1", "[::1]"})
NEAR = frozenset({"127.0.0.1", "::1", ""})


def is_at_the_machine(request: HttpRequest) -> bool:
    """Whether it came from the machine that serves, under that machine's own name.

    A proxy is as near, but is asked for by another name.
    """
    host = request.get_host()
    is_local = host in LOOPBACK or host.rsplit(":", 1)[0] in LOOPBACK
    return is_local and request.META.get("REMOTE_ADDR", "") in NEAR


def is_sure(request: HttpRequest) -> bool:
    """Whether somebody who was asked about a quantity said that it is right."""
    return request.POST.get("sure") == "yes"


def keep(request: HttpRequest, template: str, context: Mapping[str, Any]) -> None:
    """Name the page that is shown again if what follows is refused."""
    request._kept_page = (template, context)  # type: ignore[attr-defined]


def kept_page(request: HttpRequest) -> Page:
    """The page to show with a refusal."""
    return cast(Page, getattr(request, "_kept_page", ALONE))


def posted(request: HttpRequest) -> QueryDict | None:
    """What was sent, also when it is empty; None where a page is only looked at."""
    return request.POST if request.method == "POST" else None


def checked(form: forms.BaseForm) -> dict[str, Any]:
    """What a form says. Errors: `web.form` with the first complaint, in words."""
    if form.is_valid():
        return dict(form.cleaned_data)
    name, complaints = next(iter(form.errors.items()))
    label = form.fields[name].label if name in form.fields else None
    before = f"{label or name.replace('_', ' ')}: " if name != "__all__" else ""
    raise Refused("web.form", f"{before}{complaints[0]} Nothing was changed.")


def done(request: HttpRequest, sentence: str, to: str, *args: object) -> HttpResponse:
    """After an action: wake the worker, say what happened, go on to a page."""
    wake()
    messages.success(request, sentence)
    return redirect(to, *args)


def download(data: bytes, name: str, kind: str) -> HttpResponse:
    """A file to keep."""
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(data, content_type=kind, headers=headers)


def here(numbered: Callable[[int], Row], pk: int) -> Row:
    """The row that an address names. Errors: Http404, for the page 'Not here'."""
    try:
        return numbered(pk)
    except Refused as refusal:
        raise Http404(refusal.sentence) from None


def whole_numbers(texts: Iterable[str]) -> list[int]:
    """The whole numbers among ticked boxes. Errors: `web.form`."""
    rows = list(dict.fromkeys(texts))
    if not all(text.isascii() and text.isdigit() and len(text) < 10 for text in rows):
        raise Refused("web.form", "That choice is none of the list: choose again.")
    return [int(text) for text in rows]


def key_after(request: HttpRequest, name: str = "before") -> int | None:
    """The key a list goes on from, where its address names one."""
    text = request.GET.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else None
