"""Single drill bits in use and what happened to them."""

from django.conf import settings
from django.db import models

from inventory.forecasting.rules.bits import BitState
from inventory.trade import codes

EVENTS = [(each.value, each.words) for each in BitState]


class Bit(models.Model):
    """One bit taken from its tube, with its tag's code.

    Its holes are not kept here: they are those of the assemblies closed while it was
    fitted.
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


class BitEvent(models.Model):
    """Something that happened to a bit.

    `holes` are the equivalent full holes it had drilled since it was last sharp.
    """

    bit = models.ForeignKey(Bit, models.PROTECT, related_name="events")
    event = models.CharField(max_length=12, choices=EVENTS)
    holes = models.DecimalField(max_digits=9, decimal_places=1)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.event} {self.bit_id}"
