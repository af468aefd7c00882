"""The plan: builds, their ordered stages, assemblies, and what each asks."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.planning.rules.lines import OPERATIONS
from inventory.trade.substitutes import REASONS

PLANNED, IN_WORK, CLOSED = "planned", "in_work", "closed"
STATES = [(PLANNED, "planned"), (IN_WORK, "in work"), (CLOSED, "closed")]


def _origin() -> models.CharField[str, str]:
    """The list that a row of the plan came from; '' where it was entered by hand."""
    return models.CharField(max_length=80, blank=True, default="")


class Build(models.Model):
    """One aircraft."""

    name = models.CharField(max_length=80, unique=True)

    def __str__(self) -> str:
        return self.name


class Stage(models.Model):
    """An ordered part of the build that is started as one."""

    build = models.ForeignKey(Build, models.PROTECT, related_name="stages")
    position = models.PositiveIntegerField()
    name = models.CharField(max_length=80)
    planned_start = models.DateField(null=True, blank=True)
    skipped = models.BooleanField(default=False)
    origin = _origin()

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["build", "name"], name="stage_name_once_a_build"
            )
        ]

    def __str__(self) -> str:
        return self.name


class Assembly(models.Model):
    """A subassembly of a stage: planned, in work from its first pull, closed."""

    stage = models.ForeignKey(Stage, models.PROTECT, related_name="assemblies")
    position = models.PositiveIntegerField()
    name = models.CharField(max_length=80)
    how_many = models.PositiveIntegerField(default=1)
    origin = _origin()
    state = models.CharField(max_length=10, choices=STATES, default=PLANNED)
    place = models.OneToOneField(
        "inventory.Place", models.PROTECT, null=True, related_name="assembly"
    )
    started_at = models.DateTimeField(null=True, blank=True)
    started_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["stage__position", "position", "pk"]
        verbose_name_plural = "assemblies"
        constraints = [
            models.UniqueConstraint(
                fields=["stage", "name"], name="assembly_name_once_a_stage"
            ),
            models.CheckConstraint(
                condition=Q(how_many__gt=0), name="assembly_is_made_at_least_once"
            ),
            models.CheckConstraint(
                condition=Q(started_at=None, started_by=None)
                | Q(started_at__isnull=False, started_by__isnull=False),
                name="assembly_started_at_and_by",
            ),
            models.CheckConstraint(
                condition=Q(closed_at=None, closed_by=None)
                | Q(closed_at__isnull=False, closed_by__isnull=False),
                name="assembly_closed_at_and_by",
            ),
            models.CheckConstraint(
                condition=Q(state=CLOSED, closed_at__isnull=False)
                | ~Q(state=CLOSED) & Q(closed_at=None),
                name="assembly_closed_when_closed",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def place_name(self) -> str:
        """What its place is called."""
        return f"{self.stage.name} / {self.name}"[:160]


class CloseUp(models.Model):
    """What went into an assembly, as it stood when it was closed: never changed after.

    `record` holds items with their lots and bins, what stood in, tools out and back,
    what looked mixed up, and who worked on it.
    """

    assembly = models.ForeignKey(Assembly, models.PROTECT, related_name="close_ups")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT)
    note = models.TextField(blank=True)
    record = models.JSONField()

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"close-up of {self.assembly_id}"


MAX_NOTE = 400


class Reopening(models.Model):
    """That a closed assembly was put back in work; its close-ups stand."""

    assembly = models.ForeignKey(Assembly, models.PROTECT, related_name="reopenings")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT)
    note = models.CharField(max_length=MAX_NOTE, blank=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"reopening of {self.assembly_id}"


class Need(models.Model):
    """What an assembly asks of one item, as the drawing wrote it.

    Without a callout it asks for what the item is described as.
    """

    assembly = models.ForeignKey(Assembly, models.CASCADE, related_name="needs")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="needs")
    callout = models.CharField(max_length=120, blank=True)
    each = models.PositiveIntegerField()
    origin = _origin()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["assembly", "callout", "item", "origin"],
                name="need_once_an_assembly_and_list",
            ),
            models.CheckConstraint(condition=Q(each__gt=0), name="need_asks_something"),
        ]

    def __str__(self) -> str:
        return f"{self.each} x {self.callout or self.item_id}"


class Seam(models.Model):
    """A seam of the plan as it was given: it is part of the need of its callout.

    `given` holds the file's own texts, `rule` how the rivets were reckoned from them,
    `days_held` how long its sheets are held; none where that was not kept.
    """

    assembly = models.ForeignKey(Assembly, models.CASCADE, related_name="seams")
    callout = models.CharField(max_length=120)
    given = models.JSONField()
    rivets = models.PositiveIntegerField()
    rule = models.TextField()
    days_held = models.PositiveSmallIntegerField(null=True)
    origin = _origin()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=Q(rivets__gt=0), name="seam_has_rivets")
        ]

    def __str__(self) -> str:
        return self.rule


class Drilling(models.Model):
    """Holes an assembly has drilled, and how they are held until riveted.

    `every_nth` 0 means none is held; `days_held` counts from the stage's start.
    """

    assembly = models.ForeignKey(Assembly, models.CASCADE, related_name="drillings")
    hole_size = models.CharField(max_length=20)
    holes_each = models.PositiveIntegerField()
    operation = models.CharField(max_length=10, default="full")
    every_nth = models.PositiveSmallIntegerField(default=0)
    days_held = models.PositiveSmallIntegerField(default=0)
    origin = _origin()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.holes_each} x {self.hole_size}"

    @property
    def work(self) -> str:
        """What is done to the holes, in words."""
        return OPERATIONS[self.operation]


class Substitution(models.Model):
    """Pieces of one item that an assembly used for another item's need.

    Undone with its act: only those whose act stands count.
    """

    assembly = models.ForeignKey(Assembly, models.CASCADE, related_name="substitutions")
    needed = models.ForeignKey("inventory.Item", models.PROTECT, related_name="+")
    used = models.ForeignKey("inventory.Item", models.PROTECT, related_name="+")
    quantity = models.PositiveIntegerField()
    why = models.CharField(max_length=10, choices=list(REASONS.items()))
    approval = models.CharField(max_length=160, blank=True)
    act = models.OneToOneField("inventory.Act", models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gt=0), name="substitution_is_of_something"
            ),
            models.CheckConstraint(
                condition=~Q(why="blind") | ~Q(approval=""),
                name="substitution_by_a_blind_rivet_is_approved",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.used_id} for {self.needed_id}"


class PlanChange(models.Model):
    """A change of the plan, by a file or by hand: who, when, and how to take it back.

    `said` names it; `file_name` and `sha256` are a file's. `sentences` tell the
    difference, `patch` holds it (`rules/patching`); old ones have none.
    """

    build = models.ForeignKey(Build, models.PROTECT, related_name="plan_changes")
    said = models.CharField(max_length=240, blank=True)
    file_name = models.CharField(max_length=160, blank=True)
    sha256 = models.CharField(max_length=64, blank=True)
    changes = models.PositiveIntegerField()
    sentences = models.JSONField(default=list)
    patch = models.JSONField(null=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT)
    taken_back_at = models.DateTimeField(null=True)
    taken_back_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(taken_back_at=None, taken_back_by=None)
                | Q(taken_back_at__isnull=False, taken_back_by__isnull=False),
                name="plan_change_taken_back_at_and_by",
            ),
        ]

    def __str__(self) -> str:
        return self.said or self.file_name
