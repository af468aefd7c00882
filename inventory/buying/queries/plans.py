"""Reads of order plans: the one being worked on, the last that was worked out."""

from typing import Any

from inventory.buying.models import DONE, OrderPlan
from inventory.errors import Refused


def open_plan() -> OrderPlan | None:
    """The plan that waits or is worked on."""
    return OrderPlan.objects.filter(turn=1).first()


def last_plan() -> OrderPlan | None:
    """The last plan that was worked out; it stays whatever came after."""
    return OrderPlan.objects.filter(state=DONE).first()


def newest_plan() -> OrderPlan | None:
    """The last one asked for, however it ended."""
    return OrderPlan.objects.first()


def plan_numbered(pk: int) -> OrderPlan:
    """Errors: `supply.no_plan`."""
    row = OrderPlan.objects.filter(pk=pk).first()
    if row is None:
        raise Refused("supply.no_plan", f"There is no order plan {pk}: ask for one.")
    return row


def proof_of(plan: OrderPlan) -> str:
    """How sure it is that no other plan is cheaper, in a sentence."""
    if plan.total is None or plan.gap is None or not plan.found.get("suppliers"):
        return ""
    share = f"{plan.gap * 100:.2f}".rstrip("0").rstrip(".")
    if not plan.gap:
        return "No plan costs less."
    early = "" if plan.proven else " The time was up before more was proven."
    return (
        f"No plan costs less than {plan.bound}: at most {share} % is to be had.{early}"
    )


def plan_data() -> dict[str, Any]:
    """What is being worked on and the last plan, JSON-ready."""
    going, last, newest = open_plan(), last_plan(), newest_plan()
    return {
        "state": newest.state if newest else "none",
        "sentence": newest.sentence if newest else "",
        "elapsed": going.elapsed if going else 0.0,
        "limit_seconds": going.limit_seconds if going else None,
        "plan": _data(last) if last else None,
    }


def _data(row: OrderPlan) -> dict[str, Any]:
    return {
        "id": row.pk,
        "finished_at": row.finished_at,
        "days_ahead": row.days_ahead,
        "objective": str(row.total),
        "bound": str(row.bound),
        "gap": None if row.gap is None else float(row.gap),
        "status": "proven" if row.proven else "time limit",
        "proof": proof_of(row),
        "ordered_at": row.ordered_at,
        **row.found,
    }
