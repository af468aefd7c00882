"""The page that finds everything."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.web.finding import found, one_page


@require_safe
def find(request: HttpRequest) -> HttpResponse:
    """What a person's words mean; straight to the page of a code, a bin or an order."""
    text = " ".join(request.GET.get("q", "").split())[:80]
    named = one_page(text) if text else None
    if named:
        return redirect(*named)
    page = {"q": text, "groups": found(text, timezone.localdate())}
    return render(request, "find.html", page)
