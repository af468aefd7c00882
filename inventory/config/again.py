"""Who lost a race against somebody else is taken once more: then it sees what won.

Two benches may do the same at the same moment. The database lets one of them in; the
other's whole request is undone there and asked again, so that it is answered in words
(or takes what the first one made) and nobody meets a fault.
"""

import random
import time
from collections.abc import Callable

from django.db import DatabaseError, IntegrityError, OperationalError, connection
from django.http import HttpRequest
from django.http.response import HttpResponseBase

from inventory.errors import Refused
from inventory.web.middleware import refused_page

# The longest wait before each further try, seconds; it is drawn, so that two that met
# do not meet again.
PAUSES = (0.02, 0.05, 0.1, 0.2, 0.4)
# Source: PostgreSQL documentation, appendix A: serialization_failure, deadlock_detected.
CROSSED = frozenset({"40001", "40P01"})


def is_lost_race(error: Exception) -> bool:
    """Whether asking again may end better: somebody's row came first, or two crossed."""
    state = getattr(error.__cause__, "sqlstate", None)
    return isinstance(error, IntegrityError) or (
        isinstance(error, OperationalError) and state in CROSSED
    )


class Again:
    """Asks a view again whose transaction lost a race; it stands innermost."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Pass on; a body of JSON is kept, so that it can be read twice."""
        if request.content_type == "application/json":
            _kept = request.body
        return self.get_response(request)

    def process_exception(
        self, request: HttpRequest, error: Exception
    ) -> HttpResponseBase | None:
        """The answer of a further try; a bug that is no race stays a bug."""
        if not is_lost_race(error) or connection.in_atomic_block:
            return None
        for pause in PAUSES:
            time.sleep(random.uniform(0, pause))
            try:
                return _once_more(request)
            except Refused as refusal:
                return refused_page(request, refusal)
            except DatabaseError as failed:
                if not is_lost_race(failed):
                    raise
        return None


def _once_more(request: HttpRequest) -> HttpResponseBase:
    for _name, files in request.FILES.lists():
        for file in files:
            file.seek(0)
    match = request.resolver_match
    assert match is not None
    response: HttpResponseBase = match.func(request, *match.args, **match.kwargs)
    return response
