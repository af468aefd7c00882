"""Labels: choose bins and a sheet, get a PDF; cards and badges for the bench."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_safe

from inventory.forecasting.queries.tools import bit_numbered, bits
from inventory.labels.actions import (
    assembly_pdf,
    card_sheet_pdf,
    keep_setup,
    kept_setup,
    label_pdf,
)
from inventory.ledger import queries as ledger
from inventory.people.models import User
from inventory.planning.queries import assembly_numbered
from inventory.web.labelforms import USUAL_DPI, Labels, Sizes
from inventory.web.parts import checked, keep, posted, whole_numbers

# What the cards say, by their numbers in the order of the sheet.
CARDS = (
    *((1, "pull"), (2, "return"), (3, "count"), (4, "scrap"), (5, "receive")),
    *((6, "undo"), (10, "put the undo back"), (7, "cancel"), (9, "confirm")),
    *((8, "leave the bench"), (11, "why: repair"), (12, "why: practice")),
    *((13, "why: outside the plan"), (14, "why: stands in"), (15, "why: spare")),
    *((16, "why: other assembly"), (24, "bit: fitted"), (21, "bit: dull")),
    *((22, "bit: broken"), (23, "bit: resharpened")),
)
QUANTITIES = (*range(10), 10, 20, 25, 50, 100)


@require_http_methods(["GET", "HEAD", "POST"])
def labels(request: HttpRequest) -> HttpResponse:
    """The list to tick, or the sheet of what was ticked."""
    before = kept_setup()
    form = Labels(posted(request), initial=before)
    sizes = Sizes(posted(request), initial=before)
    source = request.POST if request.method == "POST" else request.GET
    chosen, tags = source.getlist("bin"), source.getlist("bit")
    page = {
        "form": form,
        "sizes": sizes,
        "bins": ledger.bins(),
        "bits": bits(),
        "chosen": chosen,
        "tags": tags,
    }
    if request.method != "POST":
        return render(request, "labels.html", page)
    keep(request, "labels.html", page)
    data, measured = checked(form), checked(sizes)
    pdf = label_pdf(
        bins=[ledger.bin_numbered(number) for number in whole_numbers(chosen)],
        bits=[bit_numbered(number) for number in whole_numbers(tags)],
        sheet=form.chosen_sheet(sizes),
        shop_url=settings.SHOP_URL,
        offset_mm=(data["right"], data["down"]),
        skip=data["skip"],
        dpi=data["dpi"] or USUAL_DPI,
    )
    keep_setup(chosen={**measured, **data, "skip": 0})
    return as_download(pdf, "labels")


@require_safe
def cards(request: HttpRequest) -> HttpResponse:
    """Action cards, quantities and badges, so that hands never leave the scanner."""
    people = list(User.objects.filter(is_active=True).order_by("pk"))
    pdf = card_sheet_pdf(cards=CARDS, quantities=QUANTITIES, people=people)
    return as_download(pdf, "cards")


@require_safe
def assembly_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """One assembly's work sheet: what is still to take, a code on every line."""
    return as_download(assembly_pdf(assembly=assembly_numbered(pk)), f"assembly-{pk}")


def as_download(pdf: bytes, name: str) -> HttpResponse:
    """A PDF to keep or print."""
    headers = {"Content-Disposition": f'attachment; filename="{name}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)
