"""Places, acts, movements and the balances that cache their sums.

Acts and movements are never changed or deleted: triggers in the database see to it.
"""

from collections.abc import Sequence

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from inventory.ledger.rules import (
    NAMED_ONCE,
    OPEN_ENDED,
    PLACE_KINDS,
    SCAN_ID_LENGTH,
    SINGLE,
    Verb,
)
from inventory.trade import codes


class Place(models.Model):
    """Where pieces can be."""

    kind = models.CharField(max_length=20, choices=list(PLACE_KINDS.items()))
    name = models.CharField(max_length=160)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["kind"],
                condition=Q(kind__in=sorted(SINGLE)),
                name="place_single_kinds_once",
            ),
            models.UniqueConstraint(
                fields=["kind", "name"],
                condition=Q(kind__in=sorted(NAMED_ONCE)),
                name="place_of_a_person_once",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def open_ended(self) -> bool:
        """Whether its balance may stand below zero."""
        return self.kind in OPEN_ENDED


class Bin(models.Model):
    """A labelled container that holds one item at one spot.

    `labelled`: a label was made of it as it is now. `last_count` is its last count that
    stands (or look that the record gave way to), `moved_since` the pieces that came in or
    left after it, `last_look` the last look since that agreed, `moved_at_look` what had
    moved by then: running figures, which the proof of the record reckons anew. A retired
    one is empty and gone: its number stays its own.
    """

    place = models.OneToOneField(Place, models.PROTECT, related_name="bin")
    number = models.PositiveIntegerField(unique=True)
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="bins")
    spot = models.CharField(max_length=80, blank=True)
    keep_level = models.PositiveIntegerField(null=True, blank=True)
    count_it = models.BooleanField(default=False)
    count_reason = models.CharField(max_length=160, blank=True)
    counted_at = models.DateTimeField(null=True, blank=True)
    last_count = models.ForeignKey(
        "inventory.Act", models.PROTECT, null=True, related_name="+"
    )
    moved_since = models.PositiveBigIntegerField(default=0)
    last_look = models.ForeignKey(
        "inventory.Act", models.PROTECT, null=True, related_name="+"
    )
    moved_at_look = models.PositiveBigIntegerField(default=0)
    labelled = models.BooleanField(default=False)
    tare_g = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.CheckConstraint(
                condition=Q(number__lte=codes.LARGEST), name="bin_number_fits_its_code"
            )
        ]

    def __str__(self) -> str:
        return f"bin {self.number}"

    @property
    def code(self) -> str:
        """What its label carries: 'XB004209'."""
        return codes.make("B", self.number)


class Lot(models.Model):
    """One delivered batch with its papers."""

    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="lots")
    name = models.CharField(max_length=60)
    paper = models.CharField(max_length=60, blank=True)
    expires_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["item", "name"], name="lot_once_an_item")
        ]

    def __str__(self) -> str:
        return self.name


class Act(models.Model):
    """One thing one person did. It carries the client's id, and its movements.

    `counted` is what a count stated, or a look that the record gave way to; `doubt` the
    standard deviation, in units, of what was weighed, seen or guessed; `beside` the units
    pulled of a counted bin's look-alikes by then. An undo names what it `undoes`;
    `takes_back` is the act gone by it, empty where it puts one in force again.
    """

    scan_id = models.CharField(max_length=SCAN_ID_LENGTH, null=True, unique=True)  # noqa: DJ001
    fingerprint = models.CharField(max_length=64)
    verb = models.CharField(
        max_length=10, choices=[(each.value, each.past) for each in Verb]
    )
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT)
    at = models.DateTimeField()
    bin = models.ForeignKey(Bin, models.PROTECT, null=True, related_name="acts")
    counted = models.PositiveIntegerField(null=True)
    doubt = models.DecimalField(max_digits=9, decimal_places=2, null=True)
    beside = models.PositiveBigIntegerField(null=True)
    reason = models.CharField(max_length=160, blank=True)
    undoes = models.OneToOneField(
        "self", models.PROTECT, null=True, related_name="undone_by"
    )
    takes_back = models.ForeignKey(
        "self", models.PROTECT, null=True, related_name="taken_back_by"
    )

    def __str__(self) -> str:
        return f"{self.verb} {self.pk}"

    @property
    def told_by(self) -> "Movement | None":
        """The movement an act is told by; a count that finds no difference has none."""
        return telling(list(self.movements.all()))


class Movement(models.Model):
    """A positive quantity of one item that went from one place to another.

    Its id is the order. `source_after` and `target_after` are the balances it left.
    `original` is what a chain of corrections began with.
    """

    act = models.ForeignKey(Act, models.PROTECT, related_name="movements")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="movements")
    quantity = models.PositiveIntegerField()
    source = models.ForeignKey(Place, models.PROTECT, related_name="went")
    target = models.ForeignKey(Place, models.PROTECT, related_name="came")
    source_after = models.IntegerField()
    target_after = models.IntegerField()
    lot = models.ForeignKey(Lot, models.PROTECT, null=True, related_name="movements")
    corrects = models.OneToOneField(
        "self", models.PROTECT, null=True, related_name="corrected_by"
    )
    original = models.ForeignKey(
        "self", models.PROTECT, null=True, related_name="corrections"
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gt=0), name="movement_quantity_is_positive"
            ),
            models.CheckConstraint(
                condition=~Q(source=F("target")), name="movement_goes_somewhere_else"
            ),
        ]
        indexes = [
            models.Index(fields=["source", "item"], name="movement_from"),
            models.Index(fields=["target", "item"], name="movement_to"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} from {self.source_id} to {self.target_id}"


def telling(moved: Sequence[Movement]) -> Movement | None:
    """Of an act's movements the one that it is told by.

    What was lacking is booked before it; an undo takes it back before all others.
    """
    back = [row for row in moved if row.corrects_id is not None]
    return back[0] if back else moved[-1] if moved else None


class Balance(models.Model):
    """The running sum of an item at a place: a cache that `check_ledger` proves."""

    place = models.ForeignKey(Place, models.PROTECT, related_name="balances")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="balances")
    open_ended = models.BooleanField()
    quantity = models.IntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["place", "item"], name="balance_once_a_place_and_item"
            ),
            models.CheckConstraint(
                condition=Q(open_ended=True) | Q(quantity__gte=0),
                name="balance_not_below_zero",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} at {self.place_id}"


class DueBack(models.Model):
    """The day on which what is lent to a person, or borrowed, is to be back.

    It says nothing while nothing of the item is with that person.
    """

    place = models.ForeignKey(Place, models.PROTECT, related_name="+")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="+")
    due_on = models.DateField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["place", "item"], name="due_once_a_person_and_item"
            )
        ]

    def __str__(self) -> str:
        return f"{self.item_id} with {self.place_id} until {self.due_on}"


class KeptSum(models.Model):
    """A sum over the movements up to the one that `Figure.UPTO` names.

    By the numbers of a place, another, an item, a person, and by the day, where
    the figure is kept by them. A cache that `check_ledger` proves.
    """

    figure = models.CharField(max_length=10)
    place = models.PositiveBigIntegerField(default=0)
    other = models.PositiveBigIntegerField(default=0)
    what = models.PositiveBigIntegerField(default=0)
    who = models.PositiveBigIntegerField(default=0)
    day = models.CharField(max_length=10, blank=True)
    total = models.BigIntegerField(default=0)

    class Meta:
        verbose_name_plural = "kept sums"
        constraints = [
            models.UniqueConstraint(
                fields=["figure", "place", "other", "what", "who", "day"],
                name="kept_sum_once",
            )
        ]

    def __str__(self) -> str:
        return f"{self.figure}: {self.total}"


class LotInBin(models.Model):
    """A lot that went into a bin, until the bin was next known to be empty."""

    bin = models.ForeignKey(Bin, models.PROTECT, related_name="lots")
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="bins")
    since = models.ForeignKey(Movement, models.PROTECT, related_name="+")
    emptied_by = models.ForeignKey(Act, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["bin", "lot"],
                condition=Q(emptied_by=None),
                name="lot_open_once_a_bin",
            )
        ]

    def __str__(self) -> str:
        return f"{self.lot_id} in {self.bin_id}"


class CountFound(models.Model):
    """What a count that stands found: the evidence of how far records stray.

    `difference` is what it found over (under: below nothing) what the record would have
    held without all that was taken back since; `moved` the pieces that came and left
    between the count before and this one. An opening or a first count is no evidence,
    nor is a slip that a count took back.
    A running figure, proven.
    """

    act = models.OneToOneField(Act, models.PROTECT, primary_key=True, related_name="+")
    bin = models.ForeignKey(Bin, models.PROTECT, related_name="counts_found")
    difference = models.IntegerField()
    moved = models.PositiveBigIntegerField()

    def __str__(self) -> str:
        return f"{self.difference} after {self.moved} in bin {self.bin_id}"


class CountAsked(models.Model):
    """Why a bin asks to be counted, until a count answers; gone with its act.

    `missing` is what came out beyond the record, where that is the reason.
    """

    bin = models.ForeignKey(Bin, models.PROTECT, related_name="counts_asked")
    act = models.ForeignKey(Act, models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=160)
    missing = models.PositiveIntegerField(null=True)
    answered_by = models.ForeignKey(Act, models.PROTECT, null=True, related_name="+")

    class Meta:
        verbose_name_plural = "counts asked"
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.reason


class Photograph(models.Model):
    """A picture kept as evidence, of an assembly or of a lot's papers.

    Its file is named by its contents, so that none can be swapped unseen.
    """

    assembly = models.ForeignKey(
        "inventory.Assembly", models.PROTECT, null=True, related_name="photographs"
    )
    lot = models.ForeignKey(Lot, models.PROTECT, null=True, related_name="photographs")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT)
    caption = models.CharField(max_length=160, blank=True)
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(assembly=None, lot__isnull=False)
                | Q(assembly__isnull=False, lot=None),
                name="photograph_of_one_thing",
            ),
            models.UniqueConstraint(
                fields=["assembly", "sha256"], name="photograph_once_an_assembly"
            ),
            models.UniqueConstraint(
                fields=["lot", "sha256"], name="photograph_once_a_lot"
            ),
        ]

    def __str__(self) -> str:
        return self.caption or self.sha256[:8]


class Recheck(models.Model):
    """An item whose forecast must be looked at again: wanted above done.

    Written in the movement's own transaction, read by the background worker. `wide`
    says that more than this item changed with it: dates, or what is believed of all.
    `attempts` counts the failures since it was last looked at.
    """

    item = models.OneToOneField("inventory.Item", models.PROTECT, primary_key=True)
    wanted = models.PositiveBigIntegerField(default=1)
    done = models.PositiveBigIntegerField(default=0)
    wide = models.BooleanField(default=False)
    attempts = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.item_id}: {self.done} of {self.wanted}"


class LedgerCheck(models.Model):
    """The one row of how the record was last proven: when, and what was found wrong."""

    at = models.DateTimeField()
    found = models.JSONField(default=list)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(pk=1), name="ledger_check_is_one_row")
        ]

    def __str__(self) -> str:
        return f"{len(self.found)} flaws at {self.at}"
