"""Suppliers: their terms, what they sell and at what price."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_POST

from inventory.catalog.actions import item_asked
from inventory.catalog.models import Item
from inventory.catalog.queries import names_of_things
from inventory.ordering import queries as ordering
from inventory.ordering.actions.offering import (
    OfferTerms,
    change_terms,
    drop_offer,
    price_offer,
)
from inventory.ordering.actions.placing import supplier_called
from inventory.ordering.models import Offer, Supplier
from inventory.ordering.rules.offers import checked_breaks, pack_of
from inventory.web.beside import beside_supplier
from inventory.web.orderforms import NewSupplier, OfferShape, Terms
from inventory.web.parts import checked, done, here, is_sure, keep, person, posted


@require_http_methods(["GET", "HEAD", "POST"])
def suppliers(request: HttpRequest) -> HttpResponse:
    """Every supplier; a new one."""
    form = NewSupplier(posted(request))
    page = {"form": form, "rows": ordering.suppliers()}
    if request.method != "POST":
        return render(request, "suppliers.html", page)
    keep(request, "suppliers.html", page)
    row = supplier_called(name=checked(form)["name"])
    return done(request, f"{row.name} is noted.", "supplier", row.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def supplier(request: HttpRequest, pk: int) -> HttpResponse:
    """One supplier's terms and offers; changing the terms."""
    row = here(ordering.supplier_numbered, pk)
    form = Terms(posted(request), initial=Terms.start(row))
    page = _page(row) | {"form": form}
    if request.method != "POST":
        return render(request, "supplier.html", page)
    keep(request, "supplier.html", page)
    change_terms(supplier=row, changes=checked(form), by=person(request))
    return done(request, f"The terms of {row.name} are kept.", "supplier", pk)


def _page(row: Supplier) -> dict[str, Any]:
    offers = row.offers.select_related("item").prefetch_related("breaks")
    return {
        "beside": beside_supplier(row),
        "supplier": row,
        "offers": offers.order_by("item__kind", "item__words", "pk"),
        "form": Terms(initial=Terms.start(row)),
        "offer_form": OfferShape(),
        "things": names_of_things(),
    }


@require_POST
def offer_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Another pack that a supplier sells."""
    row = here(ordering.supplier_numbered, pk)
    form = OfferShape(request.POST)
    keep(request, "supplier.html", _page(row) | {"offer_form": form})
    _keep_offer(request, row, form)
    return done(request, "The offer is noted.", "supplier", pk)


@require_http_methods(["GET", "HEAD", "POST"])
def offer(request: HttpRequest, pk: int) -> HttpResponse:
    """One offer; stating it anew."""
    row = here(ordering.offer_numbered, pk)
    form = OfferShape(posted(request), initial=OfferShape.start(row))
    del form.fields["callout"]  # another item is another offer
    page = {"offer": row, "form": form}
    if request.method != "POST":
        return render(request, "offer.html", page)
    keep(request, "offer.html", page)
    kept = _keep_offer(request, row.supplier, form, row.item)
    if kept.pk != row.pk:
        drop_offer(offer=row, by=person(request))
    return done(request, "The offer is kept.", "supplier", row.supplier_id)


@require_POST
def offer_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """The supplier no longer sells it."""
    row = here(ordering.offer_numbered, pk)
    back = row.supplier_id
    drop_offer(offer=row, by=person(request))
    return done(request, "The offer is gone.", "supplier", back)


def _keep_offer(
    request: HttpRequest,
    supplier: Supplier,
    form: OfferShape,
    item: Item | None = None,
) -> Offer:
    data = checked(form)
    pack = pack_of(data["pack"])
    terms = OfferTerms(
        data["price"],
        checked_breaks(form.breaks()),
        data["most_packs"],
        data["lead_days"],
        data["life_days"],
        data["their_number"],
    )
    return price_offer(
        item=item or item_asked(text=data["callout"], sure=is_sure(request)),
        supplier=supplier,
        pack=pack,
        terms=terms,
        by=person(request),
    )
