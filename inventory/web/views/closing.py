"""Before an assembly is closed: what is over, mixed up, still inside; and its record."""

from django.db import transaction
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import (
    require_http_methods,
    require_POST,
    require_safe,
)

from inventory.errors import Refused
from inventory.forecasting.actions import drilled_with
from inventory.forecasting.queries.tools import unfitted
from inventory.ledger.actions.evidence import keep_photograph
from inventory.ledger.queries.lots import photograph_numbered, photographs
from inventory.ledger.rules import photograph_name
from inventory.photos.opening import evidence_photo
from inventory.planning.actions.closing import close_after_looking
from inventory.planning.queries import assembly_numbered
from inventory.planning.queries.closing import close_up, history_of, record_of
from inventory.trade.cautions import about
from inventory.web.closingforms import CloseUpForm, PhotographForm
from inventory.web.parts import checked, done, keep, key_after, person, posted
from inventory.web.uploads import shop_folder


@require_http_methods(["GET", "HEAD", "POST"])
def close(request: HttpRequest, pk: int) -> HttpResponse:
    """Look, say what goes back, close."""
    row = assembly_numbered(pk)
    looked = close_up(row)
    form = CloseUpForm(posted(request), looked=looked, unfitted=unfitted(row))
    page = {
        "assembly": row,
        "looked": looked,
        "form": form,
        "cautions": about("temporary fasteners"),
    }
    if request.method != "POST":
        return render(request, "close_up.html", page)
    keep(request, "close_up.html", page)
    data = checked(form)
    with transaction.atomic():
        close_after_looking(
            assembly=row,
            left=form.left(),
            by=person(request),
            now=timezone.now(),
            note=data["note"],
        )
        closed = assembly_numbered(pk)
        for bit in form.drilled():
            drilled_with(assembly=closed, bit=bit, by=person(request))
    said = f"{row.name} is closed. This is the record of what went in."
    return done(request, said, "assembly-record", row.pk)


@require_safe
def record(request: HttpRequest, pk: int) -> HttpResponse:
    """What went in, to print: as it stood at the last closing, or as it stands now."""
    row = assembly_numbered(pk)
    closings = list(row.close_ups.select_related("by"))
    asked = key_after(request, "closing")
    last = next((each for each in closings if each.pk == asked), None)
    last = last or (closings[0] if closings else None)
    found = last.record if last else record_of(row)
    page = {
        "assembly": row,
        "last": last,
        "history": history_of(row),
        "record": found,
        "went_in": [
            each
            for each in found["items"]
            if each["need"] or each["used"] or each["spoiled"]
        ],
        "photographs": photographs(assembly=row.pk),
        "form": PhotographForm(),
    }
    return render(request, "close_record.html", page)


@require_POST
def photograph_in(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a picture to the record: it is made anew before it is kept."""
    row = assembly_numbered(pk)
    form = PhotographForm(request.POST, request.FILES)
    data = checked(form)
    keep_photograph(
        assembly=row.pk,
        picture=evidence_photo(data["photo"].read()),
        caption=data["caption"],
        folder=shop_folder(),
        by=person(request),
        now=timezone.now(),
    )
    return done(request, "The photograph is in the record.", "assembly-record", row.pk)


@require_safe
def photograph(request: HttpRequest, pk: int) -> FileResponse:
    """One picture of a record."""
    row = photograph_numbered(pk)
    file = shop_folder() / photograph_name(row.sha256)
    try:
        return FileResponse(file.open("rb"), content_type="image/jpeg")
    except FileNotFoundError as error:
        raise Refused(
            "ledger.no_photograph",
            f"The file of photograph {pk} is gone from the shop's folder: put it back "
            "from a backup, or send the same picture again.",
        ) from error
