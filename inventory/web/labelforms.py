"""The forms of printing: the sheet or roll, the printer's dots, the shift."""

from typing import Any

from django import forms

from inventory.labels.rules.sheets import (
    MAX_OFFSET_MM,
    SHEETS,
    LabelSheet,
    own_sheet,
    roll,
    sheet_called,
)
from inventory.labels.rules.symbols import DPI
from inventory.web.forms import ShopForm, Whole

ROLL, OWN, USUAL_DPI = "roll", "own", 300
CHOICES = [
    *((key, sheet.words) for key, sheet in SHEETS.items()),
    (ROLL, "continuous roll, by its width"),
    (OWN, "another sheet, by its dimensions"),
]


def _mm(label: str, initial: float, most: float = 1300) -> forms.FloatField:
    return forms.FloatField(
        label=f"{label}, mm",
        min_value=0,
        max_value=most,
        initial=initial,
        required=False,
        widget=forms.NumberInput(attrs={"step": "any"}),
    )


def _shift(label: str) -> forms.FloatField:
    """Tenths of a millimetre, either way."""
    most = MAX_OFFSET_MM
    return forms.FloatField(
        label=label, initial=0, min_value=-most, max_value=most, step_size=0.1
    )


class Labels(ShopForm):
    """The sheet, and what is shifted or used up already."""

    sheet = forms.ChoiceField(label="Sheet", choices=CHOICES)
    dpi = forms.TypedChoiceField(
        label="Printer's dots an inch",
        coerce=int,
        choices=[(each, str(each)) for each in DPI],
        initial=USUAL_DPI,
        required=False,
    )
    skip = Whole(
        label="Skip the first labels, used up already", max_value=1200, initial=0
    )
    right = _shift("Shift right, mm")
    down = _shift("Shift down, mm")
    paper = forms.ChoiceField(
        label="Paper for cards and lists",
        choices=[("a4", "A4"), ("letter", "US Letter")],
        initial="a4",
        required=False,
    )

    def chosen_sheet(self, sizes: "Sizes") -> str | LabelSheet:
        """The sheet by name, or as its sizes say. Errors: `labels.size`."""
        key = str(self.cleaned_data["sheet"])
        if key == ROLL:
            return sizes.as_roll()
        return sizes.as_sheet() if key == OWN else sheet_called(key)


class Sizes(ShopForm):
    """What is measured of a roll, or of a sheet that is not listed."""

    roll_width = _mm("Roll: width", 62)
    roll_printable = _mm("Roll: printable width", 58)
    roll_length = _mm("Roll: cut at (0: where the words end)", 0)
    page_across = _mm("Sheet: page across", 210)
    page_down = _mm("Sheet: page down", 297)
    label_across = _mm("Sheet: label across", 63.5)
    label_down = _mm("Sheet: label down", 38.1)
    columns = Whole(
        label="Sheet: labels across", max_value=20, initial=3, required=False
    )
    rows = Whole(label="Sheet: labels down", max_value=60, initial=7, required=False)
    margin_left = _mm("Sheet: left edge to first label", 7.2)
    margin_top = _mm("Sheet: top edge to first label", 15.15)
    pitch_across = _mm("Sheet: one label to the next, across", 66)
    pitch_down = _mm("Sheet: one label to the next, down", 38.1)

    def _pair(self, name: str, ways: tuple[str, str] = ("across", "down")) -> Any:
        return tuple(self.cleaned_data.get(f"{name}_{way}") or 0.0 for way in ways)

    def as_roll(self) -> LabelSheet:
        """The roll of these widths."""
        data = self.cleaned_data
        return roll(
            data.get("roll_width") or 0.0,
            data.get("roll_printable") or 0.0,
            data.get("roll_length") or 0.0,
        )

    def as_sheet(self) -> LabelSheet:
        """The sheet of these dimensions."""
        data = self.cleaned_data
        return own_sheet(
            self._pair("page"),
            self._pair("label"),
            (data.get("columns") or 1, data.get("rows") or 1),
            self._pair("margin", ("left", "top")),
            self._pair("pitch"),
        )
