"""An error that nobody meant leaves a trace in the log, and its answer names it."""

import logging
import secrets

from django.http import HttpRequest, HttpResponseServerError
from django.template.loader import get_template

from inventory.people.models import User

HEADER = "Fault"
log = logging.getLogger(__name__)


def answer(request: HttpRequest) -> HttpResponseServerError:
    """Log what just failed under a number, and answer with the page that carries it.

    Nothing here asks the database: it may be what failed.
    """
    number = secrets.token_hex(4)
    log.error(
        "Fault %s: %s %r, asked by %s",
        number,
        request.method,
        request.path,
        _person(request),
        exc_info=True,
    )
    page = get_template("500.html").render({"fault": number})
    return HttpResponseServerError(page, headers={HEADER: number})


def _person(request: HttpRequest) -> str:
    """Who asked, if that is known by now; finding out would ask the database."""
    for user in (vars(request).get("user"), getattr(request, "_cached_user", None)):
        if type(user) is User:
            return repr(user.username)
    return "nobody known"
