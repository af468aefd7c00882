"""Lots, and where they went."""

from typing import Any

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import shapes
from api.parts import small
from api.views.stock import AFTER, PAGE, after
from inventory.ledger.queries import Lot, lots


class LotsView(APIView):
    """The batches that were delivered."""

    @extend_schema(
        parameters=[AFTER, OpenApiParameter("q", str)],
        responses=shapes.LotOut(many=True),
        operation_id="lots",
    )
    def get(self, request: Request) -> Response:
        """A page of lots by id; `q` looks in their names and papers."""
        text = request.query_params.get("q", "").replace("\0", "")
        rows = lots.lots_after(after(request), PAGE, text)
        return Response([_lot(row) for row in rows])


class RecallView(APIView):
    """Where a lot went."""

    @extend_schema(responses=shapes.RecallOut, operation_id="lot")
    def get(self, request: Request, pk: int) -> Response:
        """Its bins, and every place that may have got of it, the surest first."""
        row = lots.lot_numbered(small(pk))
        bins = [
            {
                "number": each.bin.number,
                "spot": each.bin.spot,
                "emptied": each.emptied_by_id is not None,
            }
            for each in lots.stays_of(row)
        ]
        places = [
            {
                "name": each.place.name,
                "kind": each.place.kind,
                "pieces": each.share.pieces,
                "least": each.share.least,
                "most": each.share.most,
                "likely": round(each.share.likely, 2),
                "chance": round(each.share.chance, 4),
            }
            for each in lots.recall(row)
        ]
        return Response({**_lot(row), "bins": bins, "places": places})


def _lot(row: Lot) -> dict[str, Any]:
    return {
        "id": row.pk,
        "name": row.name,
        "paper": row.paper,
        "expires_on": row.expires_on,
        "item": row.item_id,
        "callout": row.item.callout,
    }
