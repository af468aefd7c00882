"""One lot: its papers, its bins, and every place that may have got of it."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from inventory.labels.actions import recall_pdf
from inventory.ledger.actions.evidence import keep_photograph
from inventory.ledger.queries import Lot, lots
from inventory.ledger.queries.acts import deeds, of_lot
from inventory.people.queries import shop
from inventory.photos.opening import evidence_photo
from inventory.web.closingforms import PhotographForm
from inventory.web.parts import checked, done, here, keep, person, posted
from inventory.web.uploads import shop_folder
from inventory.web.views.labels import as_download, printed

# Deliveries of a lot that its page shows.
LAST = 50


def _page(request: HttpRequest, row: Lot, form: PhotographForm) -> dict[str, Any]:
    return {
        "deeds": deeds(LAST, person(request), where=of_lot(row.pk)),
        "lot": row,
        "stays": lots.stays_of(row),
        "places": lots.recall(row),
        "papers": lots.papers_of([row]),
        "form": form,
    }


@require_safe
def lot_print(request: HttpRequest, pk: int) -> HttpResponse:
    """Where it went, on paper, for whoever has to look there."""
    row = here(lots.lot_numbered, pk)
    pdf = recall_pdf(
        lot=row,
        stays=lots.stays_of(row),
        places=lots.recall(row),
        shop=shop().name,
        today=timezone.localdate(),
        paper=printed()["paper"],
    )
    return as_download(pdf, f"recall-{pk}")


@require_http_methods(["GET", "HEAD", "POST"])
def lot(request: HttpRequest, pk: int) -> HttpResponse:
    """From the lot to where it went: what a recall asks; papers that came later."""
    row = lots.lot_numbered(pk)
    form = PhotographForm(posted(request), request.FILES or None)
    if request.method != "POST":
        return render(request, "lot.html", _page(request, row, form))
    keep(request, "lot.html", _page(request, row, form))
    data = checked(form)
    keep_photograph(
        lot=row.pk,
        picture=evidence_photo(data["photo"].read()),
        caption=data["caption"] or f"Certificate of lot {row.name}",
        folder=shop_folder(),
        by=person(request),
        now=timezone.now(),
    )
    return done(request, "The certificate is with the lot.", "lot", row.pk)
