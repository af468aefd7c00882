"""What holds for every page: its security headers, and how a refusal is shown."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render

from inventory.errors import Refused, status_of
from inventory.people.models import User
from inventory.web.doors import OPEN, least_role
from inventory.web.parts import ASKING, kept_page

Answer = Callable[[HttpRequest], HttpResponseBase]
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "connect-src 'self'",
        "font-src 'self'",
        "manifest-src 'self'",
        "img-src 'self' blob: data:",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)


class PageRules:
    """Security headers on every response; nothing personal is kept by a browser."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer, then add what the view did not set itself."""
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        response.headers.setdefault(
            "Permissions-Policy", "camera=(self), microphone=(), geolocation=()"
        )
        response.headers.setdefault("Cache-Control", "no-store")
        response.headers.setdefault("X-Content-Type-Options", "nosniff")
        response.headers.setdefault("X-Frame-Options", "DENY")
        return response


class RefusedPages:
    """The one place where a refusal becomes a page.

    A view that holds a filled form says so by `keep`: its page is shown again, as it
    was filled, with the sentence on top. Otherwise the sentence has a page of its own.
    """

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Pass the request on."""
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, _view: Answer, _args: object, _named: object
    ) -> HttpResponse | None:
        """Whoever may not is told so, before anything is looked at or done."""
        user, where = request.user, request.resolver_match
        if not isinstance(user, User) or where is None or "/api/" in request.path[:5]:
            return None
        name = str(where.url_name)
        least = least_role(name, str(request.method))
        if name in OPEN or user.role.may(least):
            return None
        return refused_page(
            request,
            Refused(
                "people.may_not",
                f"That is for whoever is {least} here; you are {user.role}. Ask the "
                "owner. Nothing was changed.",
            ),
        )

    def process_exception(
        self, request: HttpRequest, error: Exception
    ) -> HttpResponse | None:
        """Show a refusal; a bug stays a bug."""
        if not isinstance(error, Refused) or request.path.startswith("/api/"):
            return None
        return refused_page(request, error)


def refused_page(request: HttpRequest, error: Refused) -> HttpResponse:
    """A refusal in words, with the form as it was filled."""
    template, context = kept_page(request)
    return render(
        request,
        template,
        {**context, "refusal": error.sentence, "is_asked": error.code in ASKING},
        status=status_of(error.code),
    )
