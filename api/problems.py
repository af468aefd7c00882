"""Errors as problem+json (RFC 9457): a code, its data, a sentence."""

from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, JsonResponse
from rest_framework.exceptions import APIException, ValidationError
from rest_framework.utils.encoders import JSONEncoder
from rest_framework.views import set_rollback

from inventory.errors import Refused, status_of

PROBLEM = "application/problem+json"


def problem(status: int, code: str, detail: str, data: Any = None) -> JsonResponse:
    """One problem as an answer: always JSON, whatever form the endpoint answers in."""
    body = {
        "type": "about:blank",
        "title": code.replace(".", ": ").replace("_", " "),
        "status": status,
        "code": code,
        "detail": detail,
        "data": data or {},
    }
    return JsonResponse(body, JSONEncoder, status=status, content_type=PROBLEM)


def handle(error: Exception, context: dict[str, Any]) -> JsonResponse | None:
    """Translate what the house and the framework raise; a bug stays a bug."""
    set_rollback()
    if isinstance(error, Refused):
        return problem(status_of(error.code), error.code, error.sentence, error.data)
    if isinstance(error, Http404):
        return problem(404, "api.not_found", "There is nothing at this address.")
    if isinstance(error, PermissionDenied):
        return problem(403, "api.forbidden", "You may not do this.")
    if isinstance(error, ValidationError):
        return problem(400, "api.shape", _first(error.detail), {"fields": error.detail})
    if isinstance(error, APIException):
        answer = problem(
            error.status_code, f"api.{error.default_code}", str(error.detail)
        )
        if header := getattr(error, "auth_header", None):
            answer["WWW-Authenticate"] = header
        return answer
    return None


def _first(detail: Any, name: str = "") -> str:
    """The first complaint of a validation, with the field it is about."""
    if isinstance(detail, dict):
        field, inner = next(iter(detail.items()))
        return _first(inner, "" if field == "non_field_errors" else str(field))
    if isinstance(detail, list):
        return _first(detail[0], name)
    return f"{name}: {detail}" if name else str(detail)
