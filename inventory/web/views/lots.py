"""One lot: its papers, its bins, and every place that may have got of it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.ledger import queries as ledger


@require_safe
def lot(request: HttpRequest, pk: int) -> HttpResponse:
    """From the lot to where it went: what a recall asks."""
    row = ledger.lot_numbered(pk)
    page = {
        "lot": row,
        "stays": ledger.stays_of(row),
        "places": ledger.recall(row),
        "papers": ledger.papers_of([row]),
    }
    return render(request, "lot.html", page)
