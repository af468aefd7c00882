"""The shapes of what people fill in; whether it makes sense the actions decide."""

from collections.abc import Iterable, Sequence
from typing import Any

from django import forms

from inventory.catalog.rules import KINDS
from inventory.forecasting.models import EVENTS
from inventory.ledger.queries import bins, bins_of
from inventory.ledger.rules import MAX_QUANTITY, SCAN_ID_LENGTH
from inventory.ordering.queries import Owed
from inventory.people.models import User
from inventory.planning.models import Stage
from inventory.trade import codes

PLAIN_KINDS = [
    ("", "the callout says it"),
    *((kind.code, kind.word) for kind in KINDS.values()),
]


# A text that offers what the shop knows, as it is typed.
THINGS = forms.TextInput(attrs={"list": "things", "autocomplete": "off"})


class Day(forms.DateField):
    """A day, picked or typed as 2027-03-31."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class Whole(forms.IntegerField):
    """A whole number that a phone shows digits for."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("min_value", 0)
        options.setdefault("max_value", MAX_QUANTITY)
        super().__init__(**options)
        self.widget.attrs["inputmode"] = "numeric"


class Grams(forms.DecimalField):
    """A weight in grams."""

    def __init__(self, *, needed: bool = False, **options: Any) -> None:
        super().__init__(
            min_value=0, max_digits=9, decimal_places=2, required=needed, **options
        )
        self.widget.attrs["inputmode"] = "decimal"


class ShopForm(forms.Form):
    """What every form here has."""

    def __init__(self, *args: Any, **options: Any) -> None:
        options.setdefault("label_suffix", "")
        super().__init__(*args, **options)


class WeighBin(ShopForm):
    """A tin on the scale, and the counted sample its piece is known by."""

    pieces = Whole(label="Pieces in the sample", min_value=1)
    grams = Grams(label="They weigh (g)", needed=True)
    gross = Grams(label="The full tin weighs (g)", needed=True)
    tare = Grams(label="The empty tin weighs (g)", needed=True)
    division = forms.DecimalField(
        label="The scale's division (g)",
        initial="0.1",
        min_value=0.0001,
        max_value=100,
    )


class Suppose(ShopForm):
    """What if: other dates than the plan's, and nothing changed."""

    away_weeks = Whole(label="Weeks away from now", required=False, max_value=140)
    faster = forms.DecimalField(
        label="Times as fast (a helper on Saturdays: 1.3)",
        required=False,
        min_value=0.2,
        max_value=5,
    )
    swap = forms.ChoiceField(label="Swap this stage", required=False)
    with_stage = forms.ChoiceField(label="with this one", required=False)

    def __init__(self, *args: Any, stages: Iterable[Stage], **options: Any) -> None:
        super().__init__(*args, **options)
        choices = [("", "none"), *((row.pk, row.name) for row in stages)]
        for name in ("swap", "with_stage"):
            self.fields[name].choices = choices  # type: ignore[attr-defined]


class UseInstead(ShopForm):
    """One item used for another's need, from a bin."""

    bin = Whole(label="From bin", min_value=1)
    quantity = Whole(label="Pieces", min_value=1)
    approval = forms.CharField(
        label="Allowed by, on which paper (a blind rivet needs it)",
        required=False,
        max_length=160,
    )


class Redate(ShopForm):
    """A stage's new date."""

    start = Day(label="New start", required=False)
    shift_later = forms.BooleanField(
        label="Shift the stages after it as far", required=False
    )


class Skip(ShopForm):
    """Leave a stage out, or put it back in the plan."""

    skipped = forms.BooleanField(required=False)


class Move(ShopForm):
    """A place up or down."""

    places = forms.TypedChoiceField(choices=[("-1", "up"), ("1", "down")], coerce=int)


class Weigh(ShopForm):
    """A counted sample on a scale."""

    pieces = Whole(label="Pieces counted", min_value=1)
    grams = Grams(label="Grams together")

    def clean_grams(self) -> Any:
        """A sample weighs something."""
        if not self.cleaned_data.get("grams"):
            raise forms.ValidationError("Key what the scale shows.")
        return self.cleaned_data["grams"]


class WhatBefell(ShopForm):
    """What happened to a bit."""

    event = forms.ChoiceField(choices=EVENTS)


class NewOrder(ShopForm):
    """An order's head; its lines are `OrderRow`s."""

    supplier = forms.CharField(label="Supplier", max_length=80)
    reference = forms.CharField(label="Reference", max_length=60, required=False)
    placed_on = Day(label="Placed on")
    expected_on = Day(
        label="Expected on (empty: by the supplier's days)", required=False
    )


class OrderRow(ShopForm):
    """One line of a new order; an empty one is passed over."""

    callout = forms.CharField(
        label="Callout, or name", max_length=120, required=False, widget=THINGS
    )
    packs = Whole(label="Packs", required=False)
    pack_pieces = Whole(label="Pieces a pack", required=False)
    pack_grams = Grams(label="or grams a pack")


OrderRows = forms.formset_factory(OrderRow, extra=6, max_num=40, absolute_max=40)


class Expect(ShopForm):
    """The day an order is expected now."""

    on = Day(label="Expected on")


class Receive(ShopForm):
    """What arrived: counted, or weighed; its papers; where it went."""

    scan_id = forms.CharField(max_length=SCAN_ID_LENGTH, widget=forms.HiddenInput)
    bin = forms.TypedChoiceField(label="Into bin", coerce=int)
    pieces = Whole(label="Pieces counted", min_value=1, required=False)
    grams = Grams(label="or grams in all")
    sample_pieces = Whole(label="Sample: pieces counted", required=False)
    sample_grams = Grams(label="Sample: grams")
    lot = forms.CharField(label="Lot", max_length=60, required=False)
    paper = forms.CharField(label="Certificate number", max_length=60, required=False)
    expires_on = Day(label="Use by", required=False)
    photo = forms.FileField(
        label="Photograph of the certificate",
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
    )
    closes = forms.BooleanField(label="No more of this line will come", required=False)

    def __init__(self, *args: Any, item: int | None = None, **options: Any) -> None:
        super().__init__(*args, **options)
        rows = bins() if item is None else bins_of([item])
        choices = [
            (row.number, f"{row.number}: {row.item.title} {row.spot}") for row in rows
        ]
        field = self.fields["bin"]
        if isinstance(field, forms.TypedChoiceField):
            field.choices = choices

    def clean(self) -> dict[str, Any]:
        """A count or a weight, not both and not neither."""
        data = dict(super().clean() or {})
        if not data.get("pieces") and not data.get("grams") and not self.errors:
            raise forms.ValidationError("Key the pieces, or the grams in all.")
        if data.get("pieces") and data.get("grams"):
            raise forms.ValidationError("Key the pieces or the grams, not both.")
        if data.get("photo") and not data.get("lot"):
            raise forms.ValidationError("Name the lot that the certificate is of.")
        return data


class BagCodes(ShopForm):
    """One more code of a bag: scanned, or in a photo; or what a code is taught to mean."""

    code = forms.CharField(max_length=2048, required=False, strip=False)
    photo = forms.FileField(required=False)
    teach = forms.CharField(max_length=2048, required=False, strip=False)
    callout = forms.CharField(max_length=120, required=False)

    def clean(self) -> dict[str, Any]:
        """To teach, a callout is needed."""
        data = dict(super().clean() or {})
        if data.get("teach") and not data.get("callout"):
            raise forms.ValidationError("Name the item by its callout, then teach.")
        return data


class ReceiveLoose(Receive):
    """What arrived at a bin: of an order that waits for it, or without one."""

    line = forms.TypedChoiceField(
        label="Of which order", required=False, coerce=int, empty_value=None
    )
    supplier = forms.CharField(
        label="Without an order: who delivered it", max_length=80, required=False
    )
    field_order = ["line", "supplier"]

    def __init__(self, *args: Any, owed: Sequence[Owed], **options: Any) -> None:
        super().__init__(*args, **options)
        del self.fields["closes"]
        waiting = [
            (
                row.line.pk,
                f"order {row.line.order.number}, {row.line.order.supplier.name}"
                + (f": {row.pieces:,} still to come" if row.pieces else ""),
            )
            for row in owed
        ]
        field = self.fields["line"]
        if isinstance(field, forms.TypedChoiceField):
            field.choices = [*waiting, ("", "no order")]

    def clean(self) -> dict[str, Any]:
        """Somebody delivered it."""
        data = super().clean()
        if not data.get("line") and not data.get("supplier"):
            raise forms.ValidationError("Name the order, or who delivered it.")
        return data


LEND, TAKE_BACK, BORROW, GIVE_BACK = "lend", "take_back", "borrow", "give_back"


class Lend(ShopForm):
    """What goes to, or comes from, somebody outside the shop."""

    scan_id = forms.CharField(max_length=SCAN_ID_LENGTH, widget=forms.HiddenInput)
    what = forms.ChoiceField(
        label="What",
        choices=[
            (LEND, "lend out of this bin"),
            (TAKE_BACK, "lent ones came back"),
            (BORROW, "borrow into this bin"),
            (GIVE_BACK, "give borrowed ones back"),
        ],
    )
    who = forms.CharField(
        label="Whom", max_length=80, widget=forms.TextInput(attrs={"list": "people"})
    )
    quantity = Whole(label="How many", min_value=1)
    due_on = Day(label="Due back (if a day is agreed)", required=False)


class DueOn(ShopForm):
    """When something lent or borrowed is to be back."""

    on = Day(label="Due back", required=False)


class MoveOver(ShopForm):
    """Pieces into another bin of the same item."""

    scan_id = forms.CharField(max_length=SCAN_ID_LENGTH, widget=forms.HiddenInput)
    to = Whole(
        label="Into bin (empty: a new one)",
        min_value=1,
        max_value=codes.LARGEST,
        required=False,
    )
    spot = forms.CharField(label="Spot of a new one", max_length=80, required=False)
    quantity = Whole(label="How many", min_value=1)


class FindActs(ShopForm):
    """Whose acts, at which bin, of which day."""

    by = forms.TypedChoiceField(
        label="By", required=False, coerce=int, empty_value=None
    )
    bin = Whole(label="Bin", required=False, max_value=codes.LARGEST)
    day = Day(label="On", required=False)

    def __init__(self, *args: Any, people: Iterable[User], **options: Any) -> None:
        super().__init__(*args, **options)
        field = self.fields["by"]
        if isinstance(field, forms.TypedChoiceField):
            field.choices = [("", "everybody"), *((row.pk, row) for row in people)]


class Snooze(ShopForm):
    """Days an alert is put off."""

    days = Whole(label="Days", min_value=1, max_value=365, initial=7)
