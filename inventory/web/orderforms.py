"""The shapes of the order plan's questions: what to ask, terms, a pack and its price."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.validators import URLValidator

from inventory.ordering.models import Offer, Supplier
from inventory.ordering.rules.offers import MOST_MONEY, MOST_NUMBER
from inventory.web.forms import THINGS, ShopForm, Whole


class Money(forms.DecimalField):
    """An amount in the shop's own currency."""

    def __init__(self, **options: Any) -> None:
        super().__init__(
            min_value=0,
            max_value=MOST_MONEY,
            max_digits=9,
            decimal_places=2,
            **options,
        )
        self.widget.attrs["inputmode"] = "decimal"


class AskPlan(ShopForm):
    """How far to look ahead, and how long the solver may take."""

    days_ahead = Whole(label="Stages that start within days", max_value=1500)
    limit = Whole(label="Seconds allowed", min_value=1, max_value=120)


class NewSupplier(ShopForm):
    """Who delivers."""

    name = forms.CharField(label="Name of the supplier", max_length=80)


class Terms(ShopForm):
    """What a parcel of a supplier costs, and how long it takes."""

    lead_days = Whole(label="Days from order to bench", max_value=730, required=False)
    shipping = Money(label="Shipping")
    hazard_fee = Money(label="Fee for sealants and primers")
    free_from = Money(
        label="Shipping is free from goods of (empty: never)", required=False
    )
    minimum = Money(label="Smallest order")
    web = forms.URLField(
        label="Web address",
        max_length=200,
        required=False,
        assume_scheme="https",
        validators=[URLValidator(schemes=["http", "https"])],
    )
    account = forms.CharField(label="Your number there", max_length=60, required=False)

    @staticmethod
    def start(row: Supplier) -> dict[str, Any]:
        """The terms as they stand."""
        return {name: getattr(row, name) for name in Terms.base_fields}


class OfferShape(ShopForm):
    """One pack of one item at a price."""

    callout = forms.CharField(label="Callout, or name", max_length=120, widget=THINGS)
    pack = forms.CharField(
        label="Pack: pieces such as 250, or weight such as 1/4 lb", max_length=20
    )
    price = Money(label="Price a pack")
    from_packs = Whole(label="From packs", min_value=2, max_value=10000, required=False)
    price_from = Money(label="each costs", required=False)
    from_packs_2 = Whole(
        label="From packs (second break)", min_value=2, max_value=10000, required=False
    )
    price_from_2 = Money(label="each costs (second break)", required=False)
    most_packs = Whole(
        label="Most packs to be had", min_value=1, max_value=10000, required=False
    )
    lead_days = Whole(
        label="Days to the bench (empty: the supplier's)", max_value=730, required=False
    )
    life_days = Whole(
        label="Days it keeps (chemicals)", min_value=1, max_value=7300, required=False
    )

    their_number = forms.CharField(
        label="Their part number (it scans, too)",
        max_length=MOST_NUMBER,
        required=False,
    )

    @staticmethod
    def start(row: Offer) -> dict[str, Any]:
        """The offer as it stands."""
        found: dict[str, Any] = {
            "pack": row.pack_words,
            "price": row.price,
            "most_packs": row.most_packs,
            "lead_days": row.lead_days,
            "life_days": row.life_days,
            "their_number": row.their_number,
        }
        for mark, step in zip(("", "_2"), row.breaks.all(), strict=False):
            found |= {
                f"from_packs{mark}": step.from_packs,
                f"price_from{mark}": step.price,
            }
        return found

    def clean(self) -> dict[str, Any]:
        """A break has both its count and its price."""
        data = dict(super().clean() or {})
        for mark in ("", "_2"):
            count, price = data.get(f"from_packs{mark}"), data.get(f"price_from{mark}")
            if (count is None) != (price is None):
                raise forms.ValidationError(
                    "A price break needs its count and its price: key both."
                )
        return data

    def breaks(self) -> list[tuple[int, Decimal]]:
        """The price breaks that were keyed."""
        data = self.cleaned_data
        return [
            (data[f"from_packs{mark}"], data[f"price_from{mark}"])
            for mark in ("", "_2")
            if data.get(f"from_packs{mark}") is not None
        ]
