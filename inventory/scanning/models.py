"""What benches scanned, and where each bench stands."""

from django.conf import settings
from django.db import models


class Bench(models.Model):
    """A bench: a page or a device with a person, an open assembly and a pending pull.

    `state` is the reducer's small state; it is written with every scan.
    """

    key = models.CharField(max_length=60, unique=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT)
    state = models.JSONField(default=dict)
    changed_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.key


class Scan(models.Model):
    """One raw code as it came, with its outcome: any movement leads back to a beep."""

    id = models.UUIDField(primary_key=True)
    bench = models.ForeignKey(Bench, models.PROTECT, related_name="scans")
    raw = models.CharField(max_length=512)
    fingerprint = models.CharField(max_length=64)
    outcome = models.JSONField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT)
    act = models.ForeignKey(
        "inventory.Act", models.PROTECT, null=True, related_name="scans"
    )

    def __str__(self) -> str:
        return f"{self.raw[:20]} at {self.bench_id}"
