"""What the workshop is told: one alert per subject, cause and episode."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.alerts.rules import CAUSES


class Alert(models.Model):
    """A cause for concern; it is updated, not repeated, and clears by itself.

    An episode ends when the cause clears. It is marked sent after it was mailed: until
    `leased_until` whoever claimed it under the name of a letter is at it.
    """

    subject = models.CharField(max_length=80)
    cause = models.CharField(
        max_length=20, choices=[(cause.code, cause.words) for cause in CAUSES.values()]
    )
    episode = models.PositiveIntegerField()
    title = models.CharField(max_length=200)
    sentence = models.TextField()
    act_by = models.DateField(null=True, blank=True)
    data = models.JSONField(default=dict)
    link = models.CharField(max_length=120, blank=True)
    raised_at = models.DateTimeField()
    updated_at = models.DateTimeField()
    cleared_at = models.DateTimeField(null=True, blank=True)
    seen_at = models.DateTimeField(null=True, blank=True)
    seen_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    snoozed_until = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    letter = models.CharField(max_length=36, blank=True)
    leased_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["act_by", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["subject", "cause", "episode"], name="alert_once_an_episode"
            ),
            models.UniqueConstraint(
                fields=["subject", "cause"],
                condition=Q(cleared_at=None),
                name="alert_open_once",
            ),
            models.CheckConstraint(
                condition=Q(seen_at=None, seen_by=None)
                | Q(seen_at__isnull=False, seen_by__isnull=False),
                name="alert_seen_at_and_by",
            ),
        ]

    def __str__(self) -> str:
        return self.title


class Turn(models.Model):
    """Whose turn it is: until then one process does this, and no other."""

    name = models.CharField(max_length=20, primary_key=True)
    until = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.name} until {self.until}"


class Heartbeat(models.Model):
    """When the worker last answered the clock, through the broker."""

    name = models.CharField(max_length=20, primary_key=True)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.name} at {self.at}"
