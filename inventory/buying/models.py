"""An order plan that was asked for, and what came of it."""

from django.conf import settings
from django.db import models
from django.db.models import Q

WAITING, SOLVING, DONE, FAILED, CANCELLED = (
    "waiting",
    "solving",
    "done",
    "failed",
    "cancelled",
)
PLAN_STATES = (
    (WAITING, "waiting for the worker"),
    (SOLVING, "being worked out"),
    (DONE, "worked out"),
    (FAILED, "not worked out"),
    (CANCELLED, "stopped"),
)


class OrderPlan(models.Model):
    """One order plan that was asked for, and what came of it.

    `turn` is 1 while it is open and empty after, so that one at most is open. `beat_at`
    is the worker's last sign of life; `found` the whole plan as it was shown.
    """

    state = models.CharField(max_length=10, choices=PLAN_STATES, default=WAITING)
    turn = models.PositiveSmallIntegerField(null=True, unique=True, default=1)
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    days_ahead = models.PositiveSmallIntegerField()
    limit_seconds = models.PositiveSmallIntegerField()
    tries = models.PositiveSmallIntegerField(default=0)
    beat_at = models.DateTimeField(null=True)
    elapsed = models.FloatField(default=0)
    finished_at = models.DateTimeField(null=True)
    sentence = models.TextField(blank=True)
    total = models.DecimalField(max_digits=12, decimal_places=2, null=True)
    bound = models.DecimalField(max_digits=12, decimal_places=2, null=True)
    gap = models.DecimalField(max_digits=9, decimal_places=6, null=True)
    proven = models.BooleanField(default=False)
    found = models.JSONField(default=dict)
    ordered_at = models.DateTimeField(null=True)
    ordered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(turn=1, state__in=["waiting", "solving"])
                | Q(turn=None, state__in=["done", "failed", "cancelled"]),
                name="order_plan_has_its_turn_while_open",
            ),
            models.CheckConstraint(
                condition=Q(ordered_at=None, ordered_by=None)
                | Q(ordered_at__isnull=False, ordered_by__isnull=False),
                name="order_plan_ordered_at_and_by",
            ),
        ]

    def __str__(self) -> str:
        return f"order plan {self.pk}: {self.state}"

    @property
    def is_open(self) -> bool:
        """Whether it waits or is worked on."""
        return self.turn is not None
