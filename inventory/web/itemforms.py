"""The shapes of what is changed of an item: its name, what it really is, other names."""

from django import forms

from inventory.web.binforms import WhatItIs
from inventory.web.forms import THINGS, ShopForm


class Rename(ShopForm):
    """What an item without a callout is called."""

    words = forms.CharField(label="Its name", max_length=120)


class Really(WhatItIs):
    """What an item really is; it may be another one that is here."""

    callout = forms.CharField(
        label="Callout, or the name of another item",
        max_length=120,
        required=False,
        widget=THINGS,
    )


class OtherName(ShopForm):
    """Another name that an item goes by."""

    text = forms.CharField(label="It is also called", max_length=120)


class Teach(ShopForm):
    """A spelling nobody could read, and what it means."""

    text = forms.CharField(max_length=120, widget=forms.HiddenInput)
    means = forms.CharField(label="It means the callout", max_length=120, widget=THINGS)
