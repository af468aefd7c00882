"""The shapes of an import: a list to look at, and what a person says about it."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from inventory.sheets import Told
from inventory.web.forms import ShopForm

MAX_PASTED = 2_000_000


class Upload(ShopForm):
    """A list to look at before anything is changed."""

    file = forms.FileField(
        label="File (CSV or XLSX)",
        max_length=160,
        allow_empty_file=True,
        required=False,
    )
    pasted = forms.CharField(
        label="Or paste what you copied from a spreadsheet, its header too",
        widget=forms.Textarea(attrs={"rows": 4}),
        required=False,
        max_length=MAX_PASTED,
        strip=False,
    )

    def clean(self) -> dict[str, Any]:
        """One of the two."""
        given = super().clean() or {}
        if not given.get("file") and not given.get("pasted", "").strip():
            raise forms.ValidationError("Choose a file, or paste its rows.")
        return given


class LookAgain(ShopForm):
    """A file that was sent, and which list of the plan it is."""

    sha256 = forms.RegexField(r"^[0-9a-f]{64}$", widget=forms.HiddenInput)
    name = forms.CharField(max_length=160, widget=forms.HiddenInput)
    list = forms.CharField(max_length=80, required=False, widget=forms.HiddenInput)
    told = forms.CharField(max_length=8000, required=False, widget=forms.HiddenInput)


class Apply(LookAgain):
    """The list that was looked at."""

    seen = forms.CharField(max_length=64, widget=forms.HiddenInput)
    good_rows_only = forms.BooleanField(
        label="Leave the bad rows out and take the rest", required=False
    )
    closed_too = forms.BooleanField(
        label="Change what is closed all the same", required=False
    )


def told_text(told: Told) -> str:
    """What was said about a file, as a page carries it on."""
    return json.dumps([told.day_first, dict(told.columns), told.guessing])


def said_of(given: Mapping[str, Any], before: str, columns: Sequence[str]) -> Told:
    """What a person says about a file now, on top of what was said before.

    `order` is 'day' or 'month'; `header-1` a header's text, `column-1` its column, or
    nothing to leave it out; `anew` asks about all of them. What is none of these is not
    heard.
    """
    day_first, known, guessing = _told(before)
    if given.get("anew"):
        known, guessing = {}, False
    order = given.get("order")
    if order in ("day", "month"):
        day_first = order == "day"
    for name in given:
        at = name.removeprefix("header-")
        column = given.get(f"column-{at}")
        if at != name and column is not None:
            known[str(given[name])[:120]] = column
    allowed = {name: text for name, text in known.items() if text in {"", *columns}}
    return Told(day_first, allowed, guessing)


def _told(text: str) -> tuple[bool | None, dict[str, str], bool]:
    try:
        day_first, columns, guessing = json.loads(text or "[null, {}, true]")
        pairs = {str(name): str(column) for name, column in columns.items()}
    except (ValueError, AttributeError, TypeError):
        return None, {}, True
    return (day_first if isinstance(day_first, bool) else None), pairs, guessing is True
