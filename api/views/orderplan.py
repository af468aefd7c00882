"""The order plan: read it, ask for it, stop it, make orders from it."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import order_shapes
from api.parts import body, person, small
from inventory.alerts.tasks import wake as settle
from inventory.buying import actions
from inventory.buying.queries import plans
from inventory.buying.rules.market import DAYS_AHEAD
from inventory.buying.solver.solving import SECONDS
from inventory.buying.tasks import wake


class OrderPlanView(APIView):
    """The one plan being worked on, and the last that was worked out."""

    @extend_schema(responses=order_shapes.OrderPlanOut, operation_id="order_plan")
    def get(self, request: Request) -> Response:
        """How it stands; money as text, so that no digit is lost."""
        return Response(plans.plan_data())

    @extend_schema(
        request=order_shapes.OrderPlanIn,
        responses={202: order_shapes.OrderPlanOut},
        operation_id="ask_order_plan",
    )
    def post(self, request: Request) -> Response:
        """Ask for a plan; one that is being worked on already goes on."""
        data = body(order_shapes.OrderPlanIn, request)
        row = actions.ask_plan(
            by=person(request),
            now=timezone.now(),
            days_ahead=data.get("days_ahead", DAYS_AHEAD),
            limit=data.get("limit_seconds", SECONDS),
        )
        wake(row.pk)
        return Response(plans.plan_data(), status=202)

    @extend_schema(
        responses={200: order_shapes.OrderPlanOut}, operation_id="cancel_order_plan"
    )
    def delete(self, request: Request) -> Response:
        """Stop what is being worked on; the last plan stays."""
        actions.cancel_plan(by=person(request), now=timezone.now())
        return Response(plans.plan_data())


class OrdersFromPlanView(APIView):
    """Orders made from a plan."""

    @extend_schema(
        request=None,
        responses={201: order_shapes.OrderNumbersOut},
        operation_id="orders_from_plan",
    )
    def post(self, request: Request, pk: int) -> Response:
        """Note one order a supplier, once."""
        row = plans.plan_numbered(small(pk))
        orders = actions.order_from(
            plan=row, by=person(request), now=timezone.now(), today=timezone.localdate()
        )
        settle()
        return Response({"orders": [each.number for each in orders]}, status=201)
