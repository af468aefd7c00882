"""Single drill bits in use and what happened to them."""

from django.conf import settings
from django.db import models

from inventory.forecasting.rules.bits import BitState
from inventory.trade import codes

EVENTS = [(each.value, each.words) for each in BitState]


class Bit(models.Model):
    """One bit taken from its tube, with its tag's code.

    Its holes are not kept here: they are those of the assemblies closed while it was
    fitted, and of those it drilled by somebody's word.
    """

    number = models.PositiveIntegerField(unique=True)
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="bits")
    state = models.CharField(
        max_length=12, choices=EVENTS, default=BitState.FITTED.value
    )

    def __str__(self) -> str:
        return f"bit {self.number}"

    @property
    def code(self) -> str:
        """What its tag carries: 'XT000134'."""
        return codes.make("T", self.number)

    @property
    def happened(self) -> "list[BitEvent]":
        """What happened to it, in order, without what was taken back."""
        return [row for row in self.events.all() if row.back_at is None]

    @property
    def is_broken(self) -> bool:
        """Whether it never drills again."""
        return self.state == BitState.BROKEN


class BitEvent(models.Model):
    """Something that happened to a bit.

    `holes` are the equivalent full holes it had drilled since it was last sharp. One that
    was noted by mistake is taken back, and is evidence of nothing.
    """

    bit = models.ForeignKey(Bit, models.PROTECT, related_name="events")
    event = models.CharField(max_length=12, choices=EVENTS)
    holes = models.DecimalField(max_digits=9, decimal_places=1)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT)
    back_at = models.DateTimeField(null=True, blank=True)
    back_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.event} {self.bit_id}"


class BitWork(models.Model):
    """That a bit drilled an assembly's holes of its size, though it was not fitted.

    It counts while the assembly is closed as it was then.
    """

    bit = models.ForeignKey(Bit, models.PROTECT, related_name="works")
    assembly = models.ForeignKey(
        "inventory.Assembly", models.CASCADE, related_name="bit_works"
    )
    closed_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT)

    def __str__(self) -> str:
        return f"{self.assembly_id} drilled with {self.bit_id}"
