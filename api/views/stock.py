"""Items, bins, and the ledger's movements."""

from typing import Any

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import shapes
from api.parts import MAX_ID, ask, body, key_in, person, small
from inventory.alerts.tasks import wake
from inventory.catalog.actions import item_asked, item_described
from inventory.catalog.models import Item
from inventory.catalog.queries import item_numbered, search
from inventory.catalog.rules import described
from inventory.forecasting.actions import undo_act
from inventory.forecasting.actions.looking import look_into
from inventory.forecasting.queries.why import why
from inventory.ledger.actions import bins as keeping
from inventory.ledger.actions import verbs
from inventory.ledger.actions.posting import Ask, Done
from inventory.ledger.queries import (
    Bin,
    Movement,
    Place,
    act_numbered,
    bin_numbered,
    bins_after,
    in_bins,
    movements_after,
    quantities_at,
    single_place,
)
from inventory.ledger.queries.acts import checked_to_take_back
from inventory.ledger.rules import Verb
from inventory.ledger.rules.looking import Seen, Sight
from inventory.ordering.queries.usual import checked_likely
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.queries import assembly_numbered

PAGE = 100
AFTER = OpenApiParameter(
    "after",
    {"type": "integer", "minimum": 0, "maximum": MAX_ID},
    description="The id after which the page begins.",
)


def after(request: Request) -> int:
    """The key a page begins after. Errors: `api.after`."""
    return key_in(request, "after", "the last row you have")


class ItemsView(APIView):
    """What the shop stocks or its plan asks for."""

    @extend_schema(
        parameters=[AFTER, OpenApiParameter("q", str)],
        responses=shapes.ItemOut(many=True),
        operation_id="items",
    )
    def get(self, request: Request) -> Response:
        """A page of items by id, with what all bins hold of each."""
        text = request.query_params.get("q", "").replace("\0", "")
        rows = search(text).filter(pk__gt=after(request)).order_by("pk")[:PAGE]
        there = in_bins()
        return Response([_item(row, there) for row in rows])


class OneItemView(APIView):
    """One item."""

    @extend_schema(responses=shapes.ItemOut, operation_id="item")
    def get(self, request: Request, pk: int) -> Response:
        """It, with what all bins hold of it."""
        return Response(_item(item_numbered(small(pk)), in_bins()))


def _item(row: Item, there: dict[int, int]) -> dict[str, Any]:
    return {
        "id": row.pk,
        "kind": row.kind,
        "words": row.words,
        "callout": row.callout,
        "size": row.size,
        "form": row.form,
        "unit": row.unit,
        "recognised": row.recognised,
        "on_hand": there.get(row.pk, 0),
    }


class ItemWhyView(APIView):
    """Why the forecast says what it says of an item."""

    @extend_schema(responses=OpenApiTypes.OBJECT, operation_id="item_why")
    def get(self, request: Request, pk: int) -> Response:
        """Opened to plan lines, bins, orders and the record."""
        row = item_numbered(small(pk))
        return Response(why(row, timezone.localdate()).as_data())


class BinsView(APIView):
    """The labelled containers."""

    @extend_schema(
        parameters=[AFTER], responses=shapes.BinOut(many=True), operation_id="bins"
    )
    def get(self, request: Request) -> Response:
        """A page of bins by number."""
        rows = bins_after(after(request), PAGE)
        there = quantities_at(row.place_id for row in rows)
        return Response([_bin(row, there) for row in rows])

    @extend_schema(
        request=shapes.BinIn, responses={201: shapes.BinOut}, operation_id="open_bin"
    )
    def post(self, request: Request) -> Response:
        """Open a bin of an item."""
        data = body(shapes.BinIn, request)
        row = keeping.open_bin(
            item=_item_of(data),
            by=person(request),
            number=data.get("number"),
            spot=data.get("spot", ""),
            keep_level=data.get("keep_level"),
        )
        wake()
        return Response(_bin(row, {}), status=201)


def _item_of(data: dict[str, Any]) -> Item:
    callout = data.get("callout", "")
    if not data.get("kind"):
        return item_asked(text=callout, sure=data.get("sure", False))
    what = described(
        data["kind"],
        size=data.get("size", ""),
        form=data.get("form", ""),
        name=data.get("name", ""),
    )
    return item_described(what=what, alias=callout)


class OneBinView(APIView):
    """One bin, by the number on its label."""

    @extend_schema(responses=shapes.BinOut, operation_id="bin")
    def get(self, request: Request, number: int) -> Response:
        """It, with what the record says it holds."""
        row = bin_numbered(small(number))
        return Response(_bin(row, quantities_at([row.place_id])))

    @extend_schema(
        request=shapes.BinChange, responses=shapes.BinOut, operation_id="change_bin"
    )
    def patch(self, request: Request, number: int) -> Response:
        """Change its spot or keep level."""
        row = bin_numbered(small(number))
        changes = body(shapes.BinChange, request)
        keeping.change_bin(bin=row, by=person(request), **changes)
        wake()
        return Response(_bin(row, quantities_at([row.place_id])))


def _bin(row: Bin, there: dict[tuple[int, int], int]) -> dict[str, Any]:
    return {
        "number": row.number,
        "code": row.code,
        "item": row.item_id,
        "words": row.item.words,
        "callout": row.item.callout,
        "spot": row.spot,
        "keep_level": row.keep_level,
        "on_hand": there.get((row.place_id, row.item_id), 0),
        "count_it": row.count_it,
    }


class MovementsView(APIView):
    """The ledger."""

    @extend_schema(
        parameters=[AFTER],
        responses=shapes.MovementOut(many=True),
        operation_id="movements",
    )
    def get(self, request: Request) -> Response:
        """A page of movements in their order."""
        rows = movements_after(after(request), PAGE)
        return Response([movement(row) for row in rows])

    @extend_schema(
        request=shapes.MoveIn,
        responses={200: shapes.MoveOut, 201: shapes.MoveOut},
        operation_id="move",
    )
    def post(self, request: Request) -> Response:
        """Pull, return, count, look or scrap; the same id again answers the same."""
        data = body(shapes.MoveIn, request)
        asked = ask(request, data["id"], data.get("reason", ""))
        looks = data["verb"] == Verb.LOOK
        done = _look(data, asked) if looks else _move(data, asked)
        wake()
        return moved(done)


def _look(data: dict[str, Any], by: Ask) -> Done:
    seen = Seen(Sight(data.get("seen", Sight.ABOUT)), data["quantity"])
    row, sure = bin_numbered(data["bin"]), data.get("sure", False)
    return look_into(bin=row, seen=seen, ask=by, sure=sure)


def _move(data: dict[str, Any], by: Ask) -> Done:
    row, quantity = bin_numbered(data["bin"]), data["quantity"]
    checked_likely(
        verb=Verb(data["verb"]),
        bin=row,
        quantity=quantity,
        sure=data.get("sure", False),
        scan_id=by.scan_id,
    )
    if data["verb"] == Verb.COUNT:
        return verbs.count(bin=row, counted=quantity, ask=by)
    place = _place(data, by)
    if data["verb"] == Verb.PULL:
        return verbs.pull(bin=row, quantity=quantity, to=place, ask=by)
    if data["verb"] == Verb.RETURN:
        return verbs.give_back(bin=row, quantity=quantity, from_=place, ask=by)
    origin = place if data.get("assembly") else row.place
    return verbs.scrap(bin=row, quantity=quantity, from_=origin, ask=by)


def _place(data: dict[str, Any], by: Ask) -> Place:
    if not data.get("assembly"):
        return single_place("unplanned")
    return place_to_pull_for(
        assembly=assembly_numbered(data["assembly"]), by=by.by, now=by.now
    )


class UndoView(APIView):
    """Taking an act back."""

    @extend_schema(
        request=shapes.UndoIn,
        responses={200: shapes.MoveOut, 201: shapes.MoveOut},
        operation_id="undo",
    )
    def post(self, request: Request, pk: int) -> Response:
        """Reverse what an act moved: a correction, and no consumption."""
        data = body(shapes.UndoIn, request)
        asked, act = ask(request, data["id"]), act_numbered(small(pk))
        checked_to_take_back(act, asked.by)
        done = undo_act(act=act, ask=asked)
        wake()
        return moved(done)


def moved(done: Done) -> Response:
    """An act with its movements."""
    data = {
        "act": done.act.pk,
        "repeated": done.repeated,
        "beyond": done.beyond,
        "movements": [movement(row) for row in done.movements],
    }
    return Response(data, status=200 if done.repeated else 201)


def movement(row: Movement) -> dict[str, Any]:
    """One movement as data."""
    return {
        "id": row.pk,
        "act": row.act_id,
        "verb": row.act.verb,
        "item": row.item_id,
        "words": row.item.words,
        "quantity": row.quantity,
        "source": row.source.name,
        "target": row.target.name,
        "source_after": row.source_after,
        "target_after": row.target_after,
        "lot": row.lot.name if row.lot else None,
        "corrects": row.corrects_id,
        "by": str(row.act.by),
        "at": row.act.at.isoformat(),
        "reason": row.act.reason,
    }
