"""Help: one page for each page, on one screen."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.web.helping import HELP


@require_safe
def page_help(request: HttpRequest, name: str) -> HttpResponse:
    """What a page is for and how it is worked; the others, to go on to."""
    if name not in HELP:
        raise Http404
    others = [(each, HELP[each]) for each in HELP if each != name]
    return render(request, "help.html", {"help": HELP[name], "others": others})
