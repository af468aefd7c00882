"""The description of the API: every operation says which problems it may answer."""

from typing import Any, Literal

from drf_spectacular.openapi import AutoSchema
from rest_framework import serializers

from api.problems import PROBLEM

Direction = Literal["request", "response"]


class ProblemShape(serializers.Serializer[dict[str, Any]]):
    """What an error looks like."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    code = serializers.CharField()
    detail = serializers.CharField()
    data = serializers.DictField()  # type: ignore[assignment]


class ProblemSchema(AutoSchema):
    """Adds the problems that any operation can answer."""

    statuses = (
        "400",
        "401",
        "403",
        "404",
        "405",
        "406",
        "409",
        "413",
        "414",
        "415",
        "422",
        "429",
        "500",
    )

    def get_override_parameters(self) -> list[Any]:
        """No parameters beyond the view's own."""
        return []

    def _get_response_bodies(self, direction: Direction = "response") -> dict[str, Any]:
        bodies: dict[str, Any] = super()._get_response_bodies(direction)
        shape = self.resolve_serializer(ProblemShape, direction)
        for status in self.statuses:
            bodies.setdefault(
                status,
                {
                    "content": {PROBLEM: {"schema": shape.ref}},
                    "description": "A problem, with its code and a sentence.",
                },
            )
        return bodies
