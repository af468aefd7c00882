"""Who works in the shop, on which devices, and how the shop is set."""

import re
from decimal import Decimal

from django.contrib.auth.models import AbstractUser
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from inventory.people.rules import Role, Scope


class User(AbstractUser):
    """A person of the shop. The owner is the one with `is_superuser`."""

    kept_role = models.CharField(
        max_length=10,
        choices=[(each.value, each.value) for each in Role if each is not Role.OWNER],
        default=Role.BUILDER.value,
    )

    @property
    def role(self) -> Role:
        """What they may do."""
        return Role.OWNER if self.is_superuser else Role(self.kept_role)

    def __str__(self) -> str:
        return self.get_full_name() or self.username


class Device(models.Model):
    """A bench device that may send scans: it shows a token, we keep its hash."""

    name = models.CharField(max_length=60, unique=True)
    person = models.ForeignKey(User, models.PROTECT, related_name="devices")
    token_hash = models.CharField(max_length=64, unique=True)
    scope = models.CharField(
        max_length=10,
        choices=[(each.value, each.words) for each in Scope],
        default=Scope.ALL.value,
    )
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.name


class Shop(models.Model):
    """The one row of how the shop is set; the defaults are stated guesses."""

    name = models.CharField(max_length=80, default="The workshop")
    mail_to = models.EmailField(
        blank=True, help_text="Where alerts go; empty: to the owner's address."
    )
    stage_confidence = models.DecimalField(
        max_digits=4,
        decimal_places=3,
        default=Decimal("0.95"),
        validators=[
            MinValueValidator(Decimal("0.5")),
            MaxValueValidator(Decimal("0.999")),
        ],
    )
    pace_days = models.PositiveSmallIntegerField(
        default=28,
        validators=[MinValueValidator(1)],
        help_text="Days an undated stage is taken to last: a guess.",
    )
    lead_days = models.PositiveSmallIntegerField(
        default=5, help_text="Lead time where no supplier states one: a guess."
    )
    bit_life_holes = models.PositiveSmallIntegerField(
        default=300,
        validators=[MinValueValidator(1)],
        help_text="Equivalent holes a bit lasts: a guess until the record speaks.",
    )
    currency = models.CharField(
        max_length=12, blank=True, help_text="A word beside every price; may be empty."
    )
    cut_cost = models.DecimalField(
        max_digits=7,
        decimal_places=2,
        default=Decimal("0.25"),
        validators=[MinValueValidator(Decimal(0))],
        help_text="What cutting one rivet down is worth to you: a guess.",
    )
    opening_weight = models.DecimalField(
        max_digits=4,
        decimal_places=2,
        default=Decimal("0.20"),
        validators=[MinValueValidator(Decimal(0))],
        help_text="Wear of opening a punched hole, in full holes: a guess.",
    )
    removal_weight = models.DecimalField(
        max_digits=4,
        decimal_places=2,
        default=Decimal("2.50"),
        validators=[MinValueValidator(Decimal(0))],
        help_text="Wear of drilling a rivet out, in full holes: a guess.",
    )
    seen_at = models.DateTimeField(
        null=True, blank=True, help_text="When somebody last opened a page."
    )
    letter_came_at = models.DateTimeField(
        null=True, blank=True, help_text="When somebody said that a letter arrived."
    )
    build_days = models.CharField(
        max_length=7, blank=True, help_text="Days with a morning letter, 1 is Monday."
    )
    summed_on = models.DateField(
        null=True, blank=True, help_text="The day of the last morning letter."
    )
    sum_is_due = models.BooleanField(
        default=False, help_text="After an absence: a letter sums up what is open."
    )
    backup_folder = models.CharField(
        max_length=200,
        blank=True,
        help_text="On the machine that serves: a stick or a share. Each backup is "
        "copied there too.",
    )
    steps_over = models.BooleanField(
        default=False, help_text="The first steps are no longer shown."
    )

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(pk=1), name="shop_is_one_row")
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def wear_weights(self) -> dict[str, float]:
        """Wear of a bit by operation, in equivalent full holes."""
        return {
            "full": 1.0,
            "open": float(self.opening_weight),
            "removal": float(self.removal_weight),
        }


class ListHeader(models.Model):
    """Which columns the names in a list's header mean, as somebody once said.

    `mark` is the same for lists of one kind with the same names; not `guessing`, no other
    name was taken for a column's.
    """

    mark = models.CharField(max_length=64, unique=True)
    columns = models.JSONField()
    guessing = models.BooleanField()

    def __str__(self) -> str:
        return ", ".join(self.columns)


class SignInTries(models.Model):
    """When somebody last tried to sign in: to an account, from a device or an address.

    `mark` is a hash of which; `times` are seconds since 1970, the latest last.
    """

    mark = models.CharField(max_length=64, unique=True)
    times = models.JSONField(default=list)
    seen_at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return f"{len(self.times)} tries"


class SignInEvent(models.Model):
    """Somebody signed in, or tried to: as whom, from where; and how long that held.

    `account` is empty where nobody here has the name that was typed. `session` is the key of the framework's own
    session, empty where nobody came in.
    """

    class How(models.TextChoices):
        CAME = "came", "signed in"
        WRONG = "wrong", "wrong name or password"
        OFTEN = "often", "tried too often"

    how = models.CharField(max_length=6, choices=How.choices)
    account = models.CharField(max_length=150)
    at = models.DateTimeField(db_index=True)
    address = models.CharField(max_length=45, blank=True)
    device = models.CharField(max_length=120, blank=True)
    session = models.CharField(max_length=40, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        User, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    def __str__(self) -> str:
        return f"{self.account}: {self.get_how_display()}"

    @property
    def device_words(self) -> str:
        """What a browser says of its device: what stands in its brackets, else all."""
        inside = re.search(r"\(([^()]+)\)", self.device)
        return (inside[1] if inside else self.device)[:40]


class LogLink(models.Model):
    """A way to the builder's log, and to nothing else, without an account, until it ends.

    Whoever has its token may read; we keep its hash.
    """

    who = models.CharField(max_length=80)
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(User, models.PROTECT, related_name="+")
    last_day = models.DateField()
    ended_at = models.DateTimeField(null=True, blank=True)
    seen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.who}, until {self.last_day}"
