"""Every request has an id, is counted and timed, and may leave a line in the log.

The id comes from the proxy (`X-Request-ID`) or is drawn here, goes back with the answer,
and stands in every line that is logged meanwhile. What is counted is read by the API's
`metrics`, in the text format that collectors read (OpenMetrics).
"""

import logging
import re
import secrets
from collections.abc import Callable
from time import perf_counter

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from prometheus_client import CollectorRegistry, Counter, Histogram
from prometheus_client.process_collector import ProcessCollector

from inventory.config.numbered import now

HEADER = "X-Request-ID"
_TAKEN = re.compile(r"[A-Za-z0-9._-]{8,64}")
asked = logging.getLogger("inventory.asked")

# Of this process: with several web processes each tells its own.
PROCESS = CollectorRegistry()
ProcessCollector(registry=PROCESS)
ANSWERED = Counter(
    "gripcount_requests",
    "Requests answered, by address, method and status.",
    ["route", "method", "status"],
    registry=PROCESS,
)
SECONDS = Histogram(
    "gripcount_request_seconds",
    "Seconds from a request to its answer, by address.",
    ["route"],
    buckets=(0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0),
    registry=PROCESS,
)


class Watched:
    """Around all else, so that what others answer is counted too."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Number it, pass it on, count it."""
        given = request.headers.get(HEADER, "")
        number = given if _TAKEN.fullmatch(given) else secrets.token_hex(8)
        set_before, began = now.set(number), perf_counter()
        try:
            response = self.get_response(request)
            _count(request, response, perf_counter() - began)
        finally:
            now.reset(set_before)
        response.headers[HEADER] = number
        return response


def _count(request: HttpRequest, response: HttpResponseBase, seconds: float) -> None:
    """By the address as it is written in the house: a stranger's invention is one of all."""
    match = request.resolver_match
    route = match.route if match else "none"
    method = request.method if request.method in _METHODS else "other"
    ANSWERED.labels(route, method, str(response.status_code)).inc()
    SECONDS.labels(route).observe(seconds)
    asked.info(
        "answered",
        extra={
            "method": method,
            "route": route,
            "status": response.status_code,
            "ms": round(seconds * 1000, 1),
        },
    )


_METHODS = frozenset({"GET", "HEAD", "OPTIONS", "POST", "PUT", "PATCH", "DELETE"})
