"""What suppliers sell: packs, prices, price breaks, days to deliver."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import order_shapes
from api.parts import body, person, small
from api.views.stock import AFTER, PAGE, after
from inventory.alerts.tasks import wake
from inventory.catalog.actions import item_asked
from inventory.ordering.actions.offering import OfferTerms, drop_offer, price_offer
from inventory.ordering.actions.placing import supplier_called
from inventory.ordering.models import Offer
from inventory.ordering.queries import offer_numbered, offers
from inventory.ordering.rules.offers import checked_breaks


class OffersView(APIView):
    """Packs that suppliers sell."""

    @extend_schema(
        parameters=[AFTER],
        responses=order_shapes.OfferOut(many=True),
        operation_id="offers",
    )
    def get(self, request: Request) -> Response:
        """A page of offers by id."""
        page = offers().prefetch_related("breaks").filter(pk__gt=after(request))
        return Response([_offer(row) for row in page.order_by("pk")[:PAGE]])

    @extend_schema(
        request=order_shapes.OfferIn,
        responses={201: order_shapes.OfferOut},
        operation_id="state_offer",
    )
    def post(self, request: Request) -> Response:
        """State a pack's price; the same pack again is stated anew."""
        data = body(order_shapes.OfferIn, request)
        breaks = [(row["from_packs"], row["price"]) for row in data.get("breaks", ())]
        row = price_offer(
            item=item_asked(text=data["callout"], sure=data.get("sure", False)),
            supplier=supplier_called(name=data["supplier"]),
            pack=(data.get("pack"), data.get("pack_grams")),
            terms=OfferTerms(
                price=data["price"],
                breaks=checked_breaks(breaks),
                most_packs=data.get("most_packs"),
                lead_days=data.get("lead_days"),
                life_days=data.get("life_days"),
                their_number=data.get("their_number", ""),
            ),
            by=person(request),
        )
        wake()
        return Response(_offer(row), status=201)


class OneOfferView(APIView):
    """An offer by its id."""

    @extend_schema(request=None, responses={204: None}, operation_id="drop_offer")
    def delete(self, request: Request, pk: int) -> Response:
        """The supplier no longer sells this pack."""
        drop_offer(offer=offer_numbered(small(pk)), by=person(request))
        wake()
        return Response(status=204)


def _offer(row: Offer) -> dict[str, Any]:
    return {
        "id": row.pk,
        "supplier": row.supplier.name,
        "item": row.item_id,
        "callout": row.item.callout,
        "pack": row.pack,
        "pack_grams": row.pack_grams,
        "price": row.price,
        "breaks": [
            {"from_packs": each.from_packs, "price": each.price}
            for each in row.breaks.all()
        ],
        "most_packs": row.most_packs,
        "lead_days": row.lead_days,
        "life_days": row.life_days,
        "their_number": row.their_number,
    }
