"""The shapes of what is changed of an item: its name, what it really is, other names."""

from django import forms

from inventory.web.forms import PLAIN_KINDS, THINGS, ShopForm


class Rename(ShopForm):
    """What an item without a callout is called."""

    words = forms.CharField(label="Its name", max_length=120)


class Really(ShopForm):
    """What an item really is: by callout or name, or by kind, size and form."""

    callout = forms.CharField(
        label="Callout, or the name of another item",
        max_length=120,
        required=False,
        widget=THINGS,
    )
    kind = forms.ChoiceField(label="Or its kind", choices=PLAIN_KINDS, required=False)
    size = forms.CharField(label="Size, such as #40 or 3/32", required=False)
    form = forms.CharField(label="Form, such as 6 in or short", required=False)
    name = forms.CharField(label="Name, where there is no size", required=False)


class OtherName(ShopForm):
    """Another name that an item goes by."""

    text = forms.CharField(label="It is also called", max_length=120)


class Teach(ShopForm):
    """A spelling nobody could read, and what it means."""

    text = forms.CharField(max_length=120, widget=forms.HiddenInput)
    means = forms.CharField(label="It means the callout", max_length=120, widget=THINGS)
