"""What was done to the plan and to assemblies, besides moving pieces."""

from datetime import datetime

from inventory.people.rules import Doing
from inventory.planning.models import CloseUp, PlanChange, Reopening


def doings(since: datetime, until: datetime, most: int) -> list[Doing]:
    """Changes of the plan, closings and reopenings in a span, the latest of each kind."""
    span = {"at__gte": since, "at__lt": until}
    told = [
        Doing(
            row.at,
            str(row.by),
            row.by_id,
            f"plan: {row}{', taken back' if row.taken_back_at else ''}",
            "plan-history",
        )
        for row in PlanChange.objects.filter(**span)
        .select_related("by")
        .defer("patch")
        .order_by("-pk")[:most]
    ]
    for model, what in ((CloseUp, "closed"), (Reopening, "put back in work")):
        rows = model.objects.filter(**span).select_related("by", "assembly__stage")
        rows = rows.only("at", "by", "assembly__name", "assembly__stage__name")
        told += [
            Doing(
                row.at,
                str(row.by),
                row.by_id,
                f"{row.assembly.stage.name} / {row.assembly.name} {what}",
                "assembly",
                row.assembly_id,
            )
            for row in rows.order_by("-pk")[:most]
        ]
    return told
