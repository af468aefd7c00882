"""How the shop runs."""

from dataclasses import asdict

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import shapes
from inventory.alerts.queries.running import running_parts
from inventory.alerts.tasks import why_no_broker


class RunningView(APIView):
    """What the shop runs on."""

    @extend_schema(responses=shapes.RunningOut(many=True), operation_id="running")
    def get(self, request: Request) -> Response:
        """Each part, how it stands, and what to do; the owner's."""
        parts = running_parts(timezone.now(), why_no_broker())
        return Response([asdict(part) for part in parts])
