"""The order plan: asked for, worked out in a child process, stopped, made into orders."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone

from inventory.buying.models import CANCELLED, DONE, FAILED, SOLVING, WAITING, OrderPlan
from inventory.buying.queries.market import market_of
from inventory.buying.rules.market import DAYS_AHEAD, Market
from inventory.buying.rules.orderplan import Solution, gap, total
from inventory.buying.rules.sheet import sheet
from inventory.buying.solver import solving
from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.ordering.actions.placing import AskLine, place_order
from inventory.ordering.models import Order, Supplier
from inventory.people.models import User

MOST_DAYS = 1500
LEAST_SECONDS, MOST_SECONDS = 1, 120
# A lost message: the sweep takes up what waits, and what shows no sign of life.
LOST, SILENT = timedelta(seconds=20), timedelta(seconds=90)
MOST_TRIES = 2
Clock = Callable[[], datetime]


def ask_plan(
    *,
    by: User,
    now: datetime,
    days_ahead: int = DAYS_AHEAD,
    limit: int = solving.SECONDS,
) -> OrderPlan:
    """Ask for a plan; the one that is being worked on already is given back.

    Errors: `supply.plan_terms`.
    """
    if not 0 <= days_ahead <= MOST_DAYS or not LEAST_SECONDS <= limit <= MOST_SECONDS:
        raise Refused(
            "supply.plan_terms",
            f"Look 0 to {MOST_DAYS} days ahead, and allow {LEAST_SECONDS} to "
            f"{MOST_SECONDS} seconds.",
        )
    while (standing := OrderPlan.objects.filter(turn=1).first()) is None:
        try:
            with transaction.atomic():
                return OrderPlan.objects.create(
                    asked_at=now,
                    asked_by=by,
                    days_ahead=days_ahead,
                    limit_seconds=limit,
                )
        except IntegrityError:
            continue  # somebody else's came first; or it did, and has ended since
    return standing


def work_out(*, pk: int, clock: Clock = timezone.now) -> bool:
    """Solve a plan that waits; false where somebody else has taken it."""
    claimed = OrderPlan.objects.filter(pk=pk, state=WAITING).update(
        state=SOLVING, beat_at=clock(), elapsed=0, tries=F("tries") + 1
    )
    if not claimed:
        return False
    row = OrderPlan.objects.get(pk=pk)
    try:
        market = market_of(timezone.localdate(clock()), row.days_ahead)
        plan = solving.solve(
            market.problem,
            limit=row.limit_seconds,
            tick=lambda elapsed: _alive(pk, elapsed, clock()),
        )
    except Refused as error:
        _end(pk, clock(), state=FAILED, sentence=error.sentence)
        return True
    _end(pk, clock(), state=DONE, **_result(market, plan))
    return True


def _alive(pk: int, elapsed: float, now: datetime) -> bool:
    """Note that it is worked on; false where it was stopped meanwhile."""
    mine = OrderPlan.objects.filter(pk=pk, state=SOLVING)
    return bool(mine.update(elapsed=round(elapsed, 1), beat_at=now))


def _end(pk: int, now: datetime, **fields: object) -> None:
    OrderPlan.objects.filter(pk=pk, state=SOLVING).update(
        turn=None, finished_at=now, **fields
    )


def _result(market: Market, plan: Solution) -> dict[str, object]:
    cost = total(market.problem, plan)
    return {
        "total": cost,
        "bound": min(plan.bound, cost),
        "gap": gap(cost, plan.bound).quantize(Decimal("0.000001")),
        "proven": plan.proven,
        "found": sheet(market, plan),
    }


def cancel_plan(*, by: User, now: datetime) -> bool:
    """Stop what waits or is worked on; the last finished plan stays."""
    return bool(
        OrderPlan.objects.filter(turn=1).update(
            turn=None, state=CANCELLED, finished_at=now, sentence=f"Stopped by {by}."
        )
    )


def sweep(*, clock: Clock = timezone.now) -> int:
    """Take up a plan whose message was lost or whose worker died."""
    now = clock()
    silent = OrderPlan.objects.filter(state=SOLVING, beat_at__lt=now - SILENT)
    silent.filter(tries__gte=MOST_TRIES).update(
        turn=None,
        state=FAILED,
        finished_at=now,
        sentence="The worker ended twice while it worked on this: ask again.",
    )
    silent.filter(tries__lt=MOST_TRIES).update(state=WAITING, asked_at=now - LOST)
    rows = OrderPlan.objects.filter(state=WAITING, asked_at__lte=now - LOST)
    return sum(work_out(pk=row.pk, clock=clock) for row in rows)


def order_from(*, plan: OrderPlan, by: User, now: datetime, today: date) -> list[Order]:
    """Note one order a supplier, as the plan says. Errors: `supply.plan_ordered`,
    `supply.plan_empty`, `supply.plan_gone`.
    """
    if plan.state != DONE or not plan.found.get("suppliers"):
        raise Refused(
            "supply.plan_empty", "The plan orders nothing: ask for one first."
        )
    with transaction.atomic():
        taken = OrderPlan.objects.filter(pk=plan.pk, ordered_at=None).update(
            ordered_at=now, ordered_by=by
        )
        if not taken:
            raise Refused(
                "supply.plan_ordered",
                "Orders were made from this plan already: ask for a new one.",
            )
        return [_order(parcel, by, today) for parcel in plan.found["suppliers"]]


def _order(parcel: dict[str, Any], by: User, today: date) -> Order:
    supplier = Supplier.objects.filter(pk=parcel["id"]).first()
    lines = parcel["lines"]
    items = Item.objects.in_bulk([line["item"] for line in lines])
    if supplier is None or len(items) < len({line["item"] for line in lines}):
        raise Refused(
            "supply.plan_gone",
            "What the plan names is no longer here: ask for a new one.",
        )
    asks = [
        AskLine(
            items[line["item"]],
            line["packs"],
            line["pack_pieces"],
            Decimal(line["pack_grams"]) if line["pack_grams"] else None,
        )
        for line in lines
    ]
    arrives = date.fromisoformat(str(parcel["arrives"]))
    return place_order(
        supplier=supplier,
        asks=asks,
        placed_on=today,
        by=by,
        expected_on=max(today, arrives),
        reference="order plan",
    )
