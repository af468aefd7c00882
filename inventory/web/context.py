"""What every page shows: the shop's name, what waits to be read, the one sentence."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.utils import timezone

from inventory.alerts.queries import shown_alerts, why_unheard
from inventory.alerts.queries.running import why_unwatched
from inventory.people.queries import shop as the_shop
from inventory.trade.cautions import AIRWORTHINESS
from inventory.web.helping import HELP


def shop(request: HttpRequest) -> dict[str, Any]:
    """Nothing of the shop is told to somebody who is not signed in."""
    found: dict[str, Any] = {"airworthiness": AIRWORTHINESS, "demo": settings.DEMO}
    user = getattr(request, "user", None)
    if user is not None and user.is_authenticated:
        now = timezone.now()
        waiting = shown_alerts(now).filter(seen_at=None)
        here = request.resolver_match
        if here is not None and here.url_name in HELP:
            found["help_name"] = here.url_name
        row = the_shop()
        found |= {
            "shop_name": row.name,
            "currency": row.currency,
            "unseen": waiting.count(),
            "unheard": why_unheard(),
            "unwatched": why_unwatched(now),
        }
    return found
