"""What no request of this shop needs is refused before anything is made of it."""

from collections.abc import Callable
from http import HTTPStatus

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase

# The longest address is the lookup's with its figures; what the browser adds is short.
MOST_QUERY = 4000
SENTENCES = {
    HTTPStatus.REQUEST_URI_TOO_LONG: "This address is longer than any of this shop's.",
    HTTPStatus.BAD_REQUEST: "This address holds a sign that is no letter: type it anew.",
}


class Bounded:
    """Turns away addresses that are too long, or hold what no text does."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Refuse, in a sentence, or pass on."""
        query = request.META.get("QUERY_STRING", "")
        status = None
        if len(query) > MOST_QUERY:
            status = HTTPStatus.REQUEST_URI_TOO_LONG
        elif "%00" in query or "\0" in query or "\0" in request.path:
            status = HTTPStatus.BAD_REQUEST
        if status is None:
            return self.get_response(request)
        return HttpResponse(SENTENCES[status], "text/plain; charset=utf-8", status)
