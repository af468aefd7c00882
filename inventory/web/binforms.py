"""The shapes of what is done at a bin's page: pieces in and out, and a new bin."""

from collections.abc import Iterable
from typing import Any

from django import forms

from inventory.ledger.rules import SCAN_ID_LENGTH, Verb
from inventory.ledger.rules.looking import Sight
from inventory.planning.models import Assembly
from inventory.web.forms import PLAIN_KINDS, THINGS, ShopForm, Whole

# What a bin's page does by hand, as the page asks for it.
WORK = {
    Verb.COUNT: "count: it holds",
    Verb.PULL: "pull: so many come out",
    Verb.RETURN: "return: so many go back in",
    Verb.SCRAP: "scrap: so many are spoiled",
}


class WorkAtBin(ShopForm):
    """What happened at a bin, for an assembly or outside the plan."""

    scan_id = forms.CharField(max_length=SCAN_ID_LENGTH, widget=forms.HiddenInput)
    verb = forms.ChoiceField(
        label="What", choices=[(verb.value, words) for verb, words in WORK.items()]
    )
    quantity = Whole(label="How many")
    assembly = forms.TypedChoiceField(
        label="For which assembly", required=False, coerce=int, empty_value=None
    )
    reason = forms.CharField(label="Why (may be empty)", max_length=160, required=False)

    def __init__(
        self, *args: Any, assemblies: Iterable[Assembly], **options: Any
    ) -> None:
        super().__init__(*args, **options)
        field = self.fields["assembly"]
        if isinstance(field, forms.TypedChoiceField):
            field.choices = [
                ("", "none: outside the plan"),
                *((row.pk, f"{row.stage.name} / {row.name}") for row in assemblies),
            ]


class LookInto(ShopForm):
    """What somebody saw in a bin: about so many, nearly empty, or plenty."""

    scan_id = forms.CharField(max_length=SCAN_ID_LENGTH, widget=forms.HiddenInput)
    seen = forms.ChoiceField(choices=[(each.value, each.value) for each in Sight])
    pieces = Whole(label="About how many", required=False)

    def clean_pieces(self) -> int | None:
        """How many are about there; the other two sights need no number."""
        pieces: int | None = self.cleaned_data["pieces"]
        if not pieces and self.cleaned_data.get("seen") == Sight.ABOUT:
            raise forms.ValidationError("key about how many you see.")
        return pieces


class WhatItIs(ShopForm):
    """What an item is: by callout or name, or by kind, size and form."""

    callout = forms.CharField(
        label="Callout, as the drawing writes it",
        max_length=120,
        required=False,
        widget=THINGS,
    )
    kind = forms.ChoiceField(label="Or its kind", choices=PLAIN_KINDS, required=False)
    size = forms.CharField(label="Size, such as #40 or 3/32", required=False)
    form = forms.CharField(label="Form, such as 6 in or short", required=False)
    name = forms.CharField(label="Name, where there is no size", required=False)


class NewBin(WhatItIs):
    """What a new bin holds, and how many."""

    counted = Whole(label="How many are in it now (may be empty)", required=False)
    number = Whole(label="Bin number (empty: the next free one)", required=False)
    spot = forms.CharField(label="Spot", max_length=80, required=False)
    keep_level = Whole(label="Keep level", required=False)


class ChangeBin(ShopForm):
    """Where a bin stands and what is always to be in it."""

    spot = forms.CharField(label="Spot", max_length=80, required=False)
    keep_level = Whole(label="Keep level (empty: none)", required=False)


class RetireBin(ShopForm):
    """Why a bin goes out of use, and whether what is left in it is gone."""

    gone = forms.BooleanField(
        label="What is left by the record is gone: given away, thrown away",
        required=False,
    )
    reason = forms.CharField(label="Why (may be empty)", max_length=120, required=False)
