"""Labels: choose bins and a sheet, get a PDF; cards and badges for the bench."""

from typing import Any, TypedDict

from django.conf import settings
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_safe

from inventory.forecasting.queries.tools import bit_numbered, bits
from inventory.labels.actions import (
    assembly_pdf,
    card_sheet_pdf,
    keep_setup,
    label_pdf,
)
from inventory.labels.queries import kept_setup
from inventory.labels.rules.addresses import lasts
from inventory.labels.rules.sheets import PAPERS
from inventory.ledger import queries as ledger
from inventory.ledger.queries import Bin
from inventory.people.queries import people as everybody
from inventory.planning.queries import assembly_numbered
from inventory.scanning.rules.saying import CARDS, QUANTITY_CARDS
from inventory.web.labelforms import USUAL_DPI, Labels, Sizes
from inventory.web.parts import checked, done, keep, posted, whole_numbers


class Printed(TypedDict):
    """How lists and cards are printed."""

    paper: str
    dpi: int


def printed() -> Printed:
    """As the label setup remembers it."""
    kept = kept_setup()
    paper, dpi = kept.get("paper"), kept.get("dpi")
    return {
        "paper": paper if isinstance(paper, str) and paper in PAPERS else "a4",
        "dpi": dpi if isinstance(dpi, int) else USUAL_DPI,
    }


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
        "new": len(ledger.bins_without_a_label()),
        "bits": bits(),
        "chosen": chosen,
        "tags": tags,
        "paper": printed()["paper"],
        "address_lasts": lasts(settings.SHOP_URL),
    }
    if request.method != "POST":
        return render(request, "labels.html", page)
    keep(request, "labels.html", page)
    data, measured = checked(form), checked(sizes)
    setup = {**measured, **data, "skip": 0}
    if "keep" in request.POST:
        form.chosen_sheet(sizes)
        keep_setup(chosen=setup)
        return done(request, "This is how labels are printed from now on.", "labels")
    pdf = label_pdf(
        bins=_bins(chosen, request.POST),
        bits=[bit_numbered(number) for number in whole_numbers(tags)],
        **_how(form, sizes, data),
    )
    keep_setup(chosen=setup)
    return as_download(pdf, "labels")


def _bins(chosen: list[str], sent: QueryDict) -> list[Bin]:
    if "every" in sent:
        return ledger.bins()
    if "new" in sent:
        return ledger.bins_without_a_label()
    return [ledger.bin_numbered(number) for number in whole_numbers(chosen)]


def _how(form: Labels, sizes: Sizes, data: dict[str, Any]) -> dict[str, Any]:
    return {
        "sheet": form.chosen_sheet(sizes),
        "shop_url": settings.SHOP_URL,
        "offset_mm": (data["right"], data["down"]),
        "skip": data["skip"],
        "dpi": data["dpi"] or USUAL_DPI,
    }


@require_safe
def cards(request: HttpRequest) -> HttpResponse:
    """Action cards, quantities and badges, so that hands never leave the scanner."""
    people = list(everybody())
    pdf = card_sheet_pdf(
        cards=[(card.number, card.word, card.tells) for card in CARDS],
        quantities=QUANTITY_CARDS,
        people=people,
        **printed(),
    )
    return as_download(pdf, "cards")


@require_safe
def assembly_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """One assembly's work sheet: what is still to take, a code on every line."""
    assembly = assembly_numbered(pk)
    pdf = assembly_pdf(assembly=assembly, shop_url=settings.SHOP_URL, **printed())
    return as_download(pdf, f"assembly-{pk}")


def as_download(pdf: bytes, name: str) -> HttpResponse:
    """A PDF to keep or print."""
    headers = {"Content-Disposition": f'attachment; filename="{name}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)
