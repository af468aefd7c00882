"""Errors that no endpoint answered become problems too."""

import re
from collections.abc import Callable
from http import HTTPStatus

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase

from api.problems import PROBLEM, problem
from inventory.config import limits
from inventory.config.faults import HEADER

SENTENCES = {
    400: "This request cannot be taken as it is, and nothing was done. Call the shop"
    " by its own address, and send less at once.",
    403: "You may not do this.",
    404: "There is nothing at this address.",
    414: limits.SENTENCES[HTTPStatus.REQUEST_URI_TOO_LONG],
    500: "A fault in Gripcount: what you asked for was not done, and nothing of it was"
    " kept. The server's log says why, under fault {fault}.",
}


class ProblemsOnly:
    """Below /api/ whatever answers an error answers a problem.

    The endpoints do so themselves; what fails before or around them (an unknown
    address, a host that is none of ours, a fault) is put into the same words here.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Pass on; translate what is an error and no problem yet."""
        response = self.get_response(request)
        if (
            isinstance(response, HttpResponse)
            and response.status_code >= 400
            and response.headers.get("Content-Type") != PROBLEM
            and request.path.startswith("/api/")
        ):
            response.content = problem_of(response).content
            response["Content-Type"] = PROBLEM
            response["Content-Length"] = len(response.content)
        return response


def problem_of(response: HttpResponse) -> HttpResponse:
    """The problem behind an answer that says only its status."""
    status, fault = response.status_code, response.headers.get(HEADER)
    name = HTTPStatus(status).phrase
    return problem(
        status,
        f"api.{re.sub('[^a-z]+', '_', name.lower())}",
        SENTENCES.get(status, f"{name}.").format(fault=fault),
        {"fault": fault} if fault else None,
    )
