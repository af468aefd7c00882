"""Alerts: what, when, how many, by when; seen and snoozed."""

from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inventory.alerts.actions import see
from inventory.alerts.actions import snooze as put_off
from inventory.alerts.models import Alert
from inventory.alerts.queries import open_alerts, shown_alerts
from inventory.web.forms import Snooze
from inventory.web.parts import checked, done, keep, person


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
    """Somebody has read it."""
    row = get_object_or_404(Alert, pk=pk)
    see(alert=row, by=person(request), now=timezone.now())
    return done(request, f"Seen: {row.title}.", "alerts")


@require_POST
def snooze(request: HttpRequest, pk: int) -> HttpResponse:
    """Not to be shown for some days."""
    row = get_object_or_404(Alert, pk=pk)
    now = timezone.now()
    keep(request, "refused.html", {"back": "alerts"})
    days = checked(Snooze(request.POST))["days"]
    put_off(alert=row, until=now + timedelta(days=days), by=person(request), now=now)
    return done(request, f"Put off for {days} days: {row.title}.", "alerts")
