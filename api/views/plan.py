"""The plan, its stages and assemblies, readiness, alerts."""

from datetime import timedelta
from typing import Any

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import shapes
from api.parts import body, person, small
from inventory.alerts import actions as telling
from inventory.alerts.models import Alert
from inventory.alerts.queries import alert_numbered, open_alerts
from inventory.alerts.tasks import wake
from inventory.errors import Refused
from inventory.forecasting.queries.readiness import readiness
from inventory.forecasting.queries.report import as_data
from inventory.planning.actions import editing, working
from inventory.planning.actions.closing import close_after_looking
from inventory.planning.models import Assembly, Stage
from inventory.planning.queries import (
    assembly_numbered,
    current_build,
    open_assemblies,
    stage_numbered,
    stages,
)
from inventory.planning.rules.closing import Left
from inventory.planning.rules.whatif import WhatIf
from inventory.trade import codes


class PlanView(APIView):
    """The build's stages in order."""

    @extend_schema(responses=shapes.StageOut(many=True), operation_id="plan")
    def get(self, request: Request) -> Response:
        """Every stage with its assemblies."""
        rows = stages(current_build()).prefetch_related("assemblies__stage")
        return Response([_stage(row) for row in rows])


class OneStageView(APIView):
    """A stage."""

    @extend_schema(
        request=shapes.StageChange,
        responses=shapes.StageOut,
        operation_id="change_stage",
    )
    def patch(self, request: Request, pk: int) -> Response:
        """Re-date it, skip it or put it back in the plan, move it up or down."""
        row, data = stage_numbered(small(pk)), body(shapes.StageChange, request)
        by, now = person(request), timezone.now()
        if "planned_start" in data:
            editing.redate(
                stage=row,
                start=data["planned_start"],
                by=by,
                now=now,
                shift_later=data.get("shift_later", False),
            )
        if "skipped" in data:
            editing.skip(stage=row, skipped=data["skipped"], by=by, now=now)
        if data.get("move"):
            editing.move_stage(stage=row, places=data["move"], by=by, now=now)
        wake()
        return Response(_stage(stage_numbered(row.pk)))


class AssembliesView(APIView):
    """What can be pulled for."""

    @extend_schema(
        parameters=[OpenApiParameter("open", bool)],
        responses=OpenApiTypes.OBJECT,
        operation_id="assemblies",
    )
    def get(self, request: Request) -> Response:
        """Open assemblies, those in work first."""
        rows = open_assemblies(current_build())
        return Response({"results": [assembly(row) for row in rows]})


class CloseAssemblyView(APIView):
    """An assembly's end."""

    @extend_schema(
        request=shapes.CloseIn,
        responses=shapes.AssemblyOut,
        operation_id="close_assembly",
    )
    def post(self, request: Request, pk: int) -> Response:
        """Close it: every tool that is out must be accounted for."""
        row = assembly_numbered(small(pk))
        data = body(shapes.CloseIn, request)
        close_after_looking(
            assembly=row,
            left=[
                Left(each["item"], each["back"], each.get("fate", ""))
                for each in data.get("left", [])
            ],
            by=person(request),
            now=timezone.now(),
            note=data.get("note", ""),
        )
        wake()
        return Response(assembly(assembly_numbered(row.pk)))


class ReopenAssemblyView(APIView):
    """A closed assembly's second life."""

    @extend_schema(
        request=None, responses=shapes.AssemblyOut, operation_id="reopen_assembly"
    )
    def post(self, request: Request, pk: int) -> Response:
        """Put it back in work."""
        row = assembly_numbered(small(pk))
        working.reopen(assembly=row, by=person(request), now=timezone.now())
        wake()
        return Response(assembly(assembly_numbered(row.pk)))


class ReadinessView(APIView):
    """May each stage start."""

    @extend_schema(
        parameters=[
            OpenApiParameter("away_days", {"type": "integer", "minimum": 0}),
            OpenApiParameter("faster", {"type": "number", "minimum": 0.2}),
        ],
        responses=OpenApiTypes.OBJECT,
        operation_id="readiness",
    )
    def get(self, request: Request) -> Response:
        """Every open stage with its verdict, its lines and the one in the way.

        With `away_days` or `faster` as it would be; nothing is changed.
        """
        return Response(as_data(readiness(timezone.localdate(), _what_if(request))))


def _what_if(request: Request) -> WhatIf:
    """What the address supposes. Errors: `planning.what_if`."""
    away = request.query_params.get("away_days", "0")
    faster = request.query_params.get("faster", "1")
    try:
        return WhatIf(int(away[:9]), None, float(faster[:9]))
    except ValueError as error:
        expected = "away_days as a whole number, faster as a number"
        raise Refused(
            "planning.what_if", f"Expected {expected}; got {away[:20]}, {faster[:20]}."
        ) from error


class AlertsView(APIView):
    """What stands."""

    @extend_schema(responses=shapes.AlertOut(many=True), operation_id="alerts")
    def get(self, request: Request) -> Response:
        """Every alert whose cause stands, the nearest date first."""
        return Response([_alert(row) for row in open_alerts()[:500]])


class OneAlertView(APIView):
    """An alert."""

    @extend_schema(
        request=shapes.AlertChange,
        responses=shapes.AlertOut,
        operation_id="answer_alert",
    )
    def patch(self, request: Request, pk: int) -> Response:
        """Mark it seen, or snooze it."""
        row = alert_numbered(small(pk))
        data, now = body(shapes.AlertChange, request), timezone.now()
        if data.get("seen"):
            telling.see(alert=row, by=person(request), now=now)
        if days := data.get("snooze_days"):
            until = now + timedelta(days=days)
            telling.snooze(alert=row, until=until, by=person(request), now=now)
        row.refresh_from_db()
        return Response(_alert(row))


def _stage(row: Stage) -> dict[str, Any]:
    return {
        "id": row.pk,
        "position": row.position,
        "name": row.name,
        "planned_start": row.planned_start,
        "skipped": row.skipped,
        "assemblies": [assembly(part) for part in row.assemblies.all()],
    }


def assembly(row: Assembly) -> dict[str, Any]:
    """An assembly as data; its code is what its sheet carries."""
    return {
        "id": row.pk,
        "name": row.name,
        "stage": row.stage.name,
        "how_many": row.how_many,
        "state": row.state,
        "code": codes.make("S", row.pk) if row.pk <= codes.LARGEST else "",
    }


def _alert(row: Alert) -> dict[str, Any]:
    return {
        name: getattr(row, name)
        for name in (
            "subject",
            "cause",
            "episode",
            "title",
            "sentence",
            "act_by",
            "data",
            "seen_at",
            "snoozed_until",
            "sent_at",
        )
    } | {"id": row.pk}
