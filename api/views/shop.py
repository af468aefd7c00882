"""The shop itself: the builder's log, its people, its backups."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import shop_shapes
from api.parts import MAX_ID, body, key_in, person, small
from inventory.backups.queries import FOLDER, backups_in
from inventory.ledger.queries.acts import Deed
from inventory.people.actions import add_person, give_password, give_role, leave
from inventory.people.models import User
from inventory.people.queries import everybody, person_numbered
from inventory.people.rules import Role
from inventory.planning.queries import current_build
from inventory.planning.queries.log import Entry, log_of

STAGE = OpenApiParameter(
    "stage",
    {"type": "integer", "minimum": 1, "maximum": MAX_ID},
    description="The id of the only stage that is asked for.",
)


class LogView(APIView):
    """The builder's log."""

    @extend_schema(
        parameters=[STAGE],
        responses=shop_shapes.StageLogOut(many=True),
        operation_id="log",
    )
    def get(self, request: Request) -> Response:
        """By stage and assembly: what went in, by whom, when, lots, and what was mended."""
        stage = key_in(request, "stage", "a stage")
        found = log_of(current_build(), stage or None)
        return Response(
            [
                {
                    "id": each.stage.pk,
                    "name": each.stage.name,
                    "assemblies": [_entry(entry) for entry in each.entries],
                }
                for each in found
            ]
        )


def _entry(entry: Entry) -> dict[str, Any]:
    row, closed = entry.assembly, entry.closed
    return {
        "id": row.pk,
        "name": row.name,
        "how_many": row.how_many,
        "begun_at": row.started_at,
        "begun_by": str(row.started_by or ""),
        "closed_at": closed.at if closed else None,
        "closed_by": str(closed.by) if closed else "",
        "went_in": entry.went_in,
        "stood_in": entry.record["stood_in"],
        "mixed_up": entry.record["mixed"],
        "people": entry.record["people"],
        "days": entry.days,
        "history": [
            {
                "at": each.at,
                "by": str(each.by),
                "closed": each.closing is not None,
                "note": each.note,
            }
            for each in entry.history
        ],
        "taken_back": [_taken_back(deed) for deed in entry.corrections],
        "photographs": [
            {
                "sha256": each.sha256,
                "caption": each.caption,
                "at": each.at,
                "by": str(each.by),
            }
            for each in entry.photographs
        ],
    }


def _taken_back(deed: Deed) -> dict[str, Any]:
    moved = f" {deed.moved.quantity:,} of {deed.moved.item.title}" if deed.moved else ""
    return {
        "act": deed.act.pk,
        "did": f"{deed.act.get_verb_display()}{moved}",
        "at": deed.act.at,
        "by": str(deed.act.by),
        "taken_back_at": deed.undo.at if deed.undo else None,
        "taken_back_by": str(deed.undo.by) if deed.undo else "",
    }


class PeopleView(APIView):
    """Everybody who works or worked in the shop."""

    @extend_schema(responses=shop_shapes.PersonOut(many=True), operation_id="people")
    def get(self, request: Request) -> Response:
        """In the order they came; the owner's."""
        return Response([_person(row) for row in everybody()])

    @extend_schema(
        request=shop_shapes.PersonIn,
        responses={201: shop_shapes.PersonOut},
        operation_id="add_person",
    )
    def post(self, request: Request) -> Response:
        """Let somebody in."""
        data = body(shop_shapes.PersonIn, request)
        row = add_person(
            name=data["name"],
            password=data["password"],
            role=Role(data["role"]),
            by=person(request),
        )
        return Response(_person(row), status=201)


class OnePersonView(APIView):
    """Somebody of the shop."""

    @extend_schema(
        request=shop_shapes.PersonChange,
        responses=shop_shapes.PersonOut,
        operation_id="change_person",
    )
    def patch(self, request: Request, pk: int) -> Response:
        """Another role or password; leaving, or being back. What they did stays theirs."""
        row, by = person_numbered(small(pk)), person(request)
        data = body(shop_shapes.PersonChange, request)
        # All of it, or nothing where one is refused.
        with transaction.atomic():
            if "role" in data:
                give_role(user=row, role=Role(data["role"]), by=by)
            if "may_sign_in" in data:
                leave(user=row, by=by, back=data["may_sign_in"])
            if "password" in data:
                give_password(user=row, password=data["password"], by=by)
        return Response(_person(person_numbered(row.pk)))


def _person(row: User) -> dict[str, Any]:
    return {
        "id": row.pk,
        "name": str(row),
        "role": row.role.value,
        "may_sign_in": row.is_active,
    }


class BackupsView(APIView):
    """The backups in the shop's own folder."""

    @extend_schema(responses=shop_shapes.BackupOut(many=True), operation_id="backups")
    def get(self, request: Request) -> Response:
        """The newest first; the owner's."""
        found = backups_in(Path(settings.DATA) / FOLDER)
        return Response(
            [
                {
                    "file": each.file.name,
                    "at": each.at,
                    "bytes": each.file.stat().st_size,
                }
                for each in found
            ]
        )
