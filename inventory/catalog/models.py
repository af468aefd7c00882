"""What is stocked: items down to their size, and the callouts that name them."""

from django.conf import settings
from django.db import models

from inventory.catalog.rules import KINDS, Kind
from inventory.trade import driving


class Item(models.Model):
    """One thing that is stocked. `key` is equal for equivalent callouts.

    `recognised` is false for a callout the trade floor cannot read: it is kept and
    shown, never dropped. `traits` holds what only its kind has (angle, pilot, thread).
    What was merged into another item `became` that one, and is no longer stocked.
    """

    kind = models.CharField(
        max_length=20, choices=[(kind.code, kind.word) for kind in KINDS.values()]
    )
    key = models.CharField(max_length=240, unique=True)
    words = models.CharField(max_length=160)
    callout = models.CharField(max_length=120, blank=True)
    size = models.CharField(max_length=120, blank=True)
    form = models.CharField(max_length=120, blank=True)
    head = models.CharField(max_length=40, blank=True)
    alloy = models.CharField(max_length=20, blank=True)
    diameter_in = models.DecimalField(
        max_digits=8, decimal_places=5, null=True, blank=True
    )
    length_in = models.DecimalField(
        max_digits=8, decimal_places=5, null=True, blank=True
    )
    unit = models.CharField(max_length=4, default="pcs")
    spoilage_class = models.CharField(max_length=60, blank=True)
    piece_mass_mg = models.DecimalField(
        max_digits=10, decimal_places=2, null=True, blank=True
    )
    mass_is_weighed = models.BooleanField(default=False)
    recognised = models.BooleanField(default=True)
    traits = models.JSONField(default=dict, blank=True)
    became = models.ForeignKey("self", models.PROTECT, null=True, related_name="was")

    class Meta:
        ordering = ["kind", "diameter_in", "head", "alloy", "length_in", "key"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(unit__in=["pcs", "ml", "g", "mm"]),
                name="item_unit_is_known",
            ),
            models.CheckConstraint(
                condition=models.Q(piece_mass_mg=None) | models.Q(piece_mass_mg__gt=0),
                name="item_mass_is_positive",
            ),
        ]

    def __str__(self) -> str:
        return self.words

    @property
    def title(self) -> str:
        """Words and callout, as a person says both."""
        return f"{self.words} ({self.callout})" if self.callout else self.words

    @property
    def measured(self) -> str:
        """Words with the unit, where it is not counted by the piece: 'sealant (ml)'."""
        return self.words if self.unit == "pcs" else f"{self.words} ({self.unit})"

    @property
    def sort(self) -> Kind:
        """Its kind and how that behaves: `item.sort.consumed`."""
        return KINDS[self.kind]

    @property
    def family(self) -> tuple[object, ...]:
        """What two lengths have in common: the part but for its length."""
        return (self.key.rpartition("-")[0], self.head, self.alloy, self.diameter_in)

    @property
    def cold_words(self) -> str:
        """That it is kept in the freezer until it is driven; '' for all others."""
        return driving.cold_words(self.alloy) if self.kind == "solid_rivet" else ""

    @property
    def holds_a_hole(self) -> bool:
        """Whether it holds sheets through a hole: some forms clamp an edge."""
        return self.form in self.sort.holding


class Wording(models.Model):
    """The one row of how items that a callout names are called: a `sizes.Lengths`."""

    lengths = models.CharField(max_length=12, default="inches")

    def __str__(self) -> str:
        return self.lengths


class Callout(models.Model):
    """One spelling, upper case without spaces, that names an item."""

    text = models.CharField(max_length=120, unique=True)
    item = models.ForeignKey(Item, models.PROTECT, related_name="callouts")

    def __str__(self) -> str:
        return self.text


class ItemChange(models.Model):
    """What somebody changed of an item, and what it takes to change it back.

    `before` holds the item's own fields as they were, or nothing; `moved` what went from
    it to the `other` item when the two were merged, by table.
    """

    item = models.ForeignKey(Item, models.PROTECT, related_name="changes")
    other = models.ForeignKey(
        Item, models.PROTECT, null=True, related_name="changes_by_others"
    )
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT)
    said = models.CharField(max_length=400)
    before = models.JSONField(default=dict)
    moved = models.JSONField(default=dict)
    is_back = models.BooleanField(default=False)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.said
