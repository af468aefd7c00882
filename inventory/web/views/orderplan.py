"""The order plan: ask for one, watch it, read it, make orders from it."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from inventory.buying import actions
from inventory.buying.models import FAILED
from inventory.buying.queries import plans
from inventory.buying.rules.market import DAYS_AHEAD
from inventory.buying.solver.solving import SECONDS
from inventory.buying.tasks import wake
from inventory.web.orderforms import AskPlan
from inventory.web.parts import checked, done, keep, person, posted
from inventory.web.pictures import charts


@require_http_methods(["GET", "HEAD", "POST"])
def order_plan(request: HttpRequest) -> HttpResponse:
    """The last plan, and what is being worked out; asking for one."""
    start = {"days_ahead": DAYS_AHEAD, "limit": SECONDS}
    form = AskPlan(posted(request), initial=start)
    page = _page(form)
    if request.method != "POST":
        return render(request, "order_plan.html", page)
    keep(request, "order_plan.html", page)
    asked = checked(form)
    row = actions.ask_plan(
        by=person(request),
        now=timezone.now(),
        days_ahead=asked["days_ahead"],
        limit=asked["limit"],
    )
    wake(row.pk)
    return redirect("order-plan")


def _page(form: AskPlan) -> dict[str, Any]:
    last, going, newest = plans.last_plan(), plans.open_plan(), plans.newest_plan()
    sold = last.found["suppliers"] if last else ()
    return {
        "form": form,
        "going": going,
        "failed": newest if newest and newest.state == FAILED else None,
        "last": last,
        "parcels": [
            {**parcel, "arrives": date.fromisoformat(parcel["arrives"])}
            for parcel in sold
        ],
        "picture": charts.parcels(sold, last.found["currency"])
        if last and sold
        else None,
        "proof": plans.proof_of(last) if last else "",
    }


@require_POST
def order_plan_cancel(request: HttpRequest) -> HttpResponse:
    """Stop the solver; the last plan stays."""
    if actions.cancel_plan(by=person(request), now=timezone.now()):
        messages.success(request, "The solver is stopped; the last plan stays.")
    return redirect("order-plan")


@require_POST
def order_plan_orders(request: HttpRequest, pk: int) -> HttpResponse:
    """Note one order a supplier, as the plan says."""
    keep(request, "order_plan.html", _page(AskPlan()))
    row = plans.plan_numbered(pk)
    orders = actions.order_from(
        plan=row, by=person(request), now=timezone.now(), today=timezone.localdate()
    )
    numbers = ", ".join(str(each.number) for each in orders)
    said = f"Noted as order {numbers}. Nothing was sent: place them with the suppliers."
    return done(request, said, "orders")
