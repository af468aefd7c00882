"""The form of a close-up: how many go back, what became of a tool that does not."""

from collections.abc import Sequence
from typing import Any

from django import forms

from inventory.forecasting.models import Bit
from inventory.forecasting.queries.tools import Unfitted
from inventory.planning.queries.closing import LookedAt
from inventory.planning.rules.closing import FATES, Left, Used
from inventory.web.forms import ShopForm

NOTHING = [("", "all are back"), *FATES.items()]
UNTAGGED = "none"


class CloseUpForm(forms.Form):
    """A field for each thing still noted at the assembly.

    Of tools nothing is filled in beforehand: somebody has to look.
    """

    note = forms.CharField(
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        label="Note for the record",
        help_text="What was done, checked, by whom.",
    )

    def __init__(
        self, *args: Any, looked: LookedAt, unfitted: Sequence[Unfitted], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.looked, self.unfitted = looked, unfitted
        for at, holes in enumerate(unfitted):
            self.fields[f"bit_{at}"] = forms.ChoiceField(
                label=f"No {holes.size} bit is fitted: which one drilled the {holes.holes} "
                "holes?",
                choices=[
                    ("", "choose"),
                    *((str(bit.number), f"bit {bit.number}") for bit in holes.bits),
                    (UNTAGGED, "one without a tag, or they were there already"),
                ],
            )
        for row in looked.tools:
            self._ask_back(
                row, f"{row.here} of {row.words} are out: how many are back?"
            )
            self.fields[f"fate_{row.item}"] = forms.ChoiceField(
                choices=NOTHING, required=False, label="The others are"
            )
        for row in looked.surplus:
            said = (
                f"{row.over:,} of {row.words} more than drawn: how many go back unused?"
            )
            self._ask_back(row, said, initial=0)
        self.order_fields([*(name for name in self.fields if name != "note"), "note"])

    def _ask_back(self, row: Used, label: str, initial: int | None = None) -> None:
        self.fields[f"back_{row.item}"] = forms.IntegerField(
            min_value=0, max_value=row.here, label=label, initial=initial
        )

    def drilled(self) -> list[Bit]:
        """The bits that drilled what no fitted one did."""
        said = {self.cleaned_data[f"bit_{at}"] for at in range(len(self.unfitted))}
        return [
            bit for row in self.unfitted for bit in row.bits if str(bit.number) in said
        ]

    def left(self) -> list[Left]:
        """What was said of each thing."""
        data = self.cleaned_data
        return [
            Left(row.item, data[f"back_{row.item}"], data.get(f"fate_{row.item}", ""))
            for row in (*self.looked.tools, *self.looked.surplus)
        ]


class PhotographForm(ShopForm):
    """A picture for the record."""

    photo = forms.FileField(
        label="Photograph",
        widget=forms.ClearableFileInput(
            attrs={"accept": "image/*", "capture": "environment"}
        ),
    )
    caption = forms.CharField(max_length=160, required=False, label="What it shows")
