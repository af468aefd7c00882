"""The builder's log: to read, to print, and by a link for who has no account."""

from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inventory.errors import Refused
from inventory.labels.actions import log_sheet_pdf
from inventory.ledger.queries.lots import photograph_numbered
from inventory.people.actions import come_by_log_link, end_log_link, make_log_link
from inventory.people.models import LogLink
from inventory.people.queries import log_link_numbered, log_links, shop
from inventory.planning.queries import current_build
from inventory.planning.queries.log import is_in_log, log_of, stages_begun
from inventory.web.parts import checked, done, keep, key_after, person
from inventory.web.shopforms import NewLogLink
from inventory.web.uploads import shop_folder
from inventory.web.views.closing import photograph
from inventory.web.views.labels import as_download, printed

# Where a link that was just made waits for the page that shows it once.
MADE = "log_link_made"


@require_safe
def log(request: HttpRequest) -> HttpResponse:
    """All that went in so far, or one stage of it."""
    page = _page(request)
    if person(request).is_superuser:
        made = request.session.pop(MADE, "")
        page |= _links(NewLogLink()) | {"made": made}
    return render(request, "log.html", page)


@require_safe
def log_print(request: HttpRequest) -> HttpResponse:
    """The same on paper."""
    return _printed(request)


@require_POST
def link_new(request: HttpRequest) -> HttpResponse:
    """A way in for the inspector; the address is shown once."""
    form = NewLogLink(request.POST)
    keep(request, "log.html", _page(request) | _links(form))
    data = checked(form)
    row, token = make_log_link(
        who=data["who"],
        last_day=data["last_day"],
        by=person(request),
        now=timezone.now(),
    )
    at = reverse("log-read", args=[token])
    request.session[MADE] = request.build_absolute_uri(at)
    return done(request, f"{row.who} may read the log by the link below.", "log")


@require_POST
def link_end(request: HttpRequest, pk: int) -> HttpResponse:
    """It opens nothing any more."""
    row = log_link_numbered(pk)
    end_log_link(link=row, now=timezone.now())
    return done(request, f"The link of {row.who} opens nothing any more.", "log")


@login_not_required
@require_safe
def read(request: HttpRequest, token: str) -> HttpResponse:
    """The log for whoever has a link that still holds."""
    link = _link(token)
    guest = {"guest": True, "link": link, "token": token}
    guest["print_at"] = reverse("log-read-print", args=[token])
    return render(request, "log.html", _page(request) | guest)


@login_not_required
@require_safe
def read_print(request: HttpRequest, token: str) -> HttpResponse:
    """The same on paper, by a link."""
    _link(token)
    return _printed(request)


@login_not_required
@require_safe
def read_photograph(request: HttpRequest, token: str, pk: int) -> FileResponse:
    """A picture of the log, by a link: no other one."""
    _link(token)
    if not is_in_log(current_build(), photograph_numbered(pk)):
        raise Refused(
            "ledger.no_photograph", f"There is no photograph {pk} in the log."
        )
    return photograph(request, pk)


def _link(token: str) -> LogLink:
    return come_by_log_link(token=token, now=timezone.now())


def _page(request: HttpRequest) -> dict[str, Any]:
    build = current_build()
    begun = stages_begun(build)
    chosen = key_after(request, "stage") or (begun[-1].pk if begun else None)
    return {
        "print_at": reverse("log-print"),
        "build": build,
        "shop": shop(),
        "chosen": chosen,
        "begun": begun,
        "stages": log_of(build, chosen),
    }


def _links(form: NewLogLink) -> dict[str, Any]:
    return {"link_form": form, "links": log_links(timezone.now())}


def _printed(request: HttpRequest) -> HttpResponse:
    build = current_build()
    pdf = log_sheet_pdf(
        stages=log_of(build, key_after(request, "stage")),
        title=f"Builder's log: {build}" if build else "Builder's log",
        shop=shop().name,
        folder=shop_folder(),
        today=timezone.localdate(),
        paper=printed()["paper"],
    )
    return as_download(pdf, "builders-log")
