"""The shapes of how a shop is set, and of the devices that may scan."""

from calendar import day_name
from typing import Any

from django import forms

from inventory.people.models import Shop
from inventory.people.rules import Role, Scope
from inventory.trade.sizes import Lengths, said
from inventory.web.forms import Day, ShopForm


class Settings(forms.ModelForm[Shop]):
    """How the shop is set."""

    build_days = forms.MultipleChoiceField(
        label="Days you build: that morning a letter sums up",
        choices=list(zip("1234567", day_name, strict=True)),
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        options.setdefault("label_suffix", "")
        super().__init__(*args, **options)
        self.initial["build_days"] = list(self.instance.build_days)

    def clean_build_days(self) -> str:
        """As the shop keeps them: '67' for the weekend."""
        return "".join(sorted(self.cleaned_data["build_days"]))

    class Meta:
        model = Shop
        fields = [
            "name",
            "mail_to",
            "build_days",
            "stage_confidence",
            "pace_days",
            "lead_days",
            "bit_life_holes",
            "opening_weight",
            "removal_weight",
            "currency",
            "cut_cost",
            "backup_folder",
        ]
        labels = {
            "mail_to": "Mail alerts to",
            "stage_confidence": "Stage confidence",
            "pace_days": "Days an undated stage lasts",
            "lead_days": "Days an order takes where nobody says",
            "bit_life_holes": "Holes a bit lasts",
            "opening_weight": "Wear of opening a punched hole",
            "removal_weight": "Wear of drilling a rivet out",
            "currency": "Currency",
            "cut_cost": "Cost of cutting one rivet down",
            "backup_folder": "A second folder for backups",
        }


class SizeWords(ShopForm):
    """How sizes are said."""

    lengths = forms.ChoiceField(
        label="A rivet's size is said",
        choices=[(each.value, said("3/32 flush", each)) for each in Lengths],
    )


class NewLogLink(ShopForm):
    """For whom a link to the log is, and how long it holds."""

    who = forms.CharField(label="For whom", max_length=80)
    last_day = Day(label="To read until")


class NewDevice(ShopForm):
    """A bench device's name, and what its token opens."""

    name = forms.CharField(label="Name of the device", max_length=60)
    scope = forms.ChoiceField(
        label="It may", choices=[(each.value, each.words) for each in Scope]
    )


class NewRole(ShopForm):
    """What somebody may do; a shop has one owner."""

    role = forms.ChoiceField(
        label="May do what a",
        choices=[(each.value, each.value) for each in Role if each is not Role.OWNER],
    )


class NewPassword(ShopForm):
    """A password for somebody."""

    password = forms.CharField(
        label="Password, 15 characters or more: a phrase is easy to keep",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        max_length=128,
        strip=False,
    )


class OwnPassword(NewPassword):
    """Another password of one's own."""

    again = forms.CharField(
        label="The new password once more",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        max_length=128,
        strip=False,
    )
    current = forms.CharField(
        label="The password you have now",
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        max_length=128,
        strip=False,
    )

    def clean(self) -> dict[str, Any]:
        """Both are the same."""
        found: dict[str, Any] = super().clean() or {}
        if found.get("again") != found.get("password"):
            self.add_error("again", "The two passwords differ: key them anew.")
        return found


class NewPerson(NewRole, NewPassword):
    """Who it is, and what they may do."""

    name = forms.CharField(label="Name, to sign in with", max_length=60)
    field_order = ("name", "role", "password")


class First(ShopForm):
    """Whose shop it is, and where its letters go."""

    shop = forms.CharField(label="What the shop is called", max_length=80)
    owner = forms.CharField(label="Your name, to sign in with", max_length=60)
    email = forms.EmailField(
        label="Where letters go (may be empty, and be keyed later)", required=False
    )
    password = forms.CharField(
        label="Password, 15 characters or more: a phrase is easy to keep",
        widget=forms.PasswordInput(render_value=True),
    )
    again = forms.CharField(
        label="The password once more", widget=forms.PasswordInput(render_value=True)
    )
