"""What the endpoints share: a checked body, whole-number paths, who acts when."""

from functools import cache
from typing import Any, TypeVar, cast

from django.http import Http404
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.serializers import (
    BooleanField,
    DecimalField,
    RegexField,
    Serializer,
)

from inventory.errors import Refused
from inventory.ledger.actions.posting import Ask
from inventory.ledger.rules import SCAN_ID, SCAN_ID_LENGTH
from inventory.people.models import User

Shape = TypeVar("Shape", bound=Serializer[Any])
MAX_ID = 2_147_483_647


class ActId(RegexField):
    """The client's own id of what it sends: the same id again does nothing twice."""

    def __init__(self) -> None:
        super().__init__(rf"^{SCAN_ID}$", max_length=SCAN_ID_LENGTH)


class Grams(DecimalField):
    """A weight, where one is given."""

    def __init__(self) -> None:
        super().__init__(required=False, max_digits=9, decimal_places=2, min_value=0)


class Sure(BooleanField):
    """Whether an unlikely quantity is right: without it, it is asked about (409)."""

    def __init__(self) -> None:
        super().__init__(required=False)


def key_in(request: Request, name: str, of: str) -> int:
    """A key that an address names, 0 where it names none. Errors: `api.after`."""
    text = request.query_params.get(name, "0")
    if not (text.isascii() and text.isdigit()) or int(text[:12]) > MAX_ID:
        raise Refused("api.after", f"'{name}' is the id of {of}.")
    return int(text)


def body(shape: type[Shape], request: Request) -> dict[str, Any]:
    """The request's data in this shape. Errors: the framework's ValidationError."""
    data = {} if request.data is None else request.data
    return dict(_form(shape).run_validation(data))


@cache
def _form(shape: type[Serializer[Any]]) -> Serializer[Any]:
    """Made once: a form's fields are copied anew for each, and keep nothing."""
    return shape()


def person(request: Request) -> User:
    """Who asks."""
    return cast(User, request.user)


def ask(request: Request, scan_id: str | None = None, reason: str = "") -> Ask:
    """Who asks, now, under which id."""
    return Ask(by=person(request), now=timezone.now(), scan_id=scan_id, reason=reason)


def small(number: int) -> int:
    """A path's number, if any row could have it."""
    if not 0 < number <= MAX_ID:
        raise Http404
    return number
