"""How the shop prints its labels."""

from django.db import models


class LabelSetup(models.Model):
    """The one row of how labels were printed last: sheet, printer's dots, shift, sizes."""

    chosen = models.JSONField(default=dict)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(pk=1), name="label_setup_is_one_row"
            )
        ]

    def __str__(self) -> str:
        return "label setup"
