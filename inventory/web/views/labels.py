"""Labels: choose bins and a sheet, get a PDF."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from inventory.labels.actions import label_pdf
from inventory.ledger import queries as ledger
from inventory.web.forms import Labels
from inventory.web.parts import checked, keep, posted, whole_numbers


@require_http_methods(["GET", "HEAD", "POST"])
def labels(request: HttpRequest) -> HttpResponse:
    """The list to tick, or the sheet of what was ticked."""
    form = Labels(posted(request))
    source = request.POST if request.method == "POST" else request.GET
    chosen = source.getlist("bin")
    page = {"form": form, "bins": ledger.bins(), "chosen": chosen}
    if request.method != "POST":
        return render(request, "labels.html", page)
    keep(request, "labels.html", page)
    data = checked(form)
    pdf = label_pdf(
        bins=[ledger.bin_numbered(number) for number in whole_numbers(chosen)],
        sheet=data["sheet"],
        shop_url=settings.SHOP_URL,
        offset_mm=(data["right"], data["down"]),
        skip=data["skip"],
    )
    headers = {"Content-Disposition": 'attachment; filename="labels.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)
