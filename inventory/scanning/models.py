"""What benches scanned, and where each bench stands."""

from django.conf import settings
from django.db import models
from django.db.models import Q


class Bench(models.Model):
    """A bench: a page or a device with a person, an open assembly and a pending pull.

    `state` is the reducer's small state, `changed_at` when its last scan was made.
    """

    key = models.CharField(max_length=60, unique=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT)
    state = models.JSONField(default=dict)
    changed_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.key


class Scan(models.Model):
    """One raw code as it came, with its outcome: any movement leads back to a beep.

    `at` is when it arrived, `happened_at` when it was scanned. `device` and `seq` number
    a device's scans without a gap, so that a lost one shows; a scan that came under a
    number that was taken keeps none.
    """

    id = models.UUIDField(primary_key=True)
    bench = models.ForeignKey(Bench, models.PROTECT, related_name="scans")
    raw = models.CharField(max_length=512)
    fingerprint = models.CharField(max_length=64)
    outcome = models.JSONField()
    at = models.DateTimeField()
    happened_at = models.DateTimeField(null=True)
    device = models.CharField(max_length=36, blank=True)
    seq = models.PositiveIntegerField(null=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT)
    act = models.ForeignKey(
        "inventory.Act", models.PROTECT, null=True, related_name="scans"
    )

    class Meta:
        indexes = [
            models.Index(
                fields=["bench", "-act"],
                condition=Q(act__isnull=False),
                name="scan_that_acted",
            )
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["device", "seq"],
                condition=~Q(device="") & Q(seq__isnull=False),
                name="scan_once_a_number",
            )
        ]

    def __str__(self) -> str:
        return f"{self.raw[:20]} at {self.bench_id}"
