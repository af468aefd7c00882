"""Alerts: what, when, how many, by when; seen and snoozed."""

from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inventory.alerts.actions import see, show_again, unsee
from inventory.alerts.actions import snooze as put_off
from inventory.alerts.queries import alert_numbered, open_alerts, shown_alerts
from inventory.web.forms import Snooze
from inventory.web.parts import checked, done, here, keep, person


@require_safe
def alerts(request: HttpRequest) -> HttpResponse:
    """Everything whose cause stands, the nearest date first."""
    now = timezone.now()
    shown = list(shown_alerts(now))
    later = open_alerts().filter(snoozed_until__gt=now)
    page = {"rows": shown, "later": later, "today": timezone.localdate(now)}
    return render(request, "alerts.html", page)


@require_POST
def seen(request: HttpRequest, pk: int) -> HttpResponse:
    """Somebody has read it; or had not, by a slip."""
    row = here(alert_numbered, pk)
    if request.POST.get("not"):
        unsee(alert=row)
        return done(request, f"Not seen yet: {row.title}.", "alerts")
    see(alert=row, by=person(request), now=timezone.now())
    return done(request, f"Seen: {row.title}.", "alerts")


@require_POST
def snooze(request: HttpRequest, pk: int) -> HttpResponse:
    """Not to be shown for some days; or now again."""
    row = here(alert_numbered, pk)
    now = timezone.now()
    if request.POST.get("not"):
        show_again(alert=row)
        return done(request, f"Shown again: {row.title}.", "alerts")
    keep(request, "refused.html", {"back": "alerts"})
    days = checked(Snooze(request.POST))["days"]
    put_off(alert=row, until=now + timedelta(days=days), by=person(request), now=now)
    return done(
        request,
        f"You are reminded in {days} day{'' if days == 1 else 's'}: {row.title}.",
        "alerts",
    )
