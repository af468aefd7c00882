"""Tonight's tray: what to carry to the bench, in the order one walks."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.forecasting.queries.tray import Tray, usual
from inventory.forecasting.queries.tray import tray as tray_of
from inventory.labels.actions import tray_pdf
from inventory.labels.rules.saying import colour_words
from inventory.people.queries import shop
from inventory.planning.models import Assembly
from inventory.planning.queries import current_build, open_assemblies
from inventory.trade.cautions import about
from inventory.web.parts import whole_numbers
from inventory.web.views.labels import as_download, printed


@require_safe
def tray(request: HttpRequest) -> HttpResponse:
    """The list for the assemblies that are chosen, else for those in work."""
    found = _tray(request)
    page = {
        "tray": found,
        "holds": [(row, colour_words(row.size)) for row in found.holds],
        "open": open_assemblies(current_build()),
        "chosen": [row.pk for row in found.assemblies],
        "cautions": [each for topic in found.topics for each in about(topic)],
        "query": request.GET.urlencode(),
    }
    return render(request, "tray.html", page)


@require_safe
def tray_sheet(request: HttpRequest) -> HttpResponse:
    """The same to print, a code on every line."""
    pdf = tray_pdf(tray=_tray(request), shop_url=settings.SHOP_URL, **printed())
    return as_download(pdf, "tray")


def _tray(request: HttpRequest) -> Tray:
    return tray_of(_chosen(request), shop(), timezone.localdate())


def _chosen(request: HttpRequest) -> list[Assembly]:
    keys = whole_numbers(request.GET.getlist("assembly"))
    build = current_build()
    if not keys:
        return usual(build)
    return [row for row in open_assemblies(build) if row.pk in keys]
