"""What calls about offers, orders and order plans take and answer."""

from typing import Any

from rest_framework import serializers

from api.parts import MAX_ID, ActId, Grams, Sure
from api.shapes import Data
from inventory.ledger.rules import MAX_QUANTITY
from inventory.trade import codes


class BreakIn(serializers.Serializer[Data]):
    """From so many packs on, each costs this."""

    from_packs = serializers.IntegerField(min_value=2, max_value=10_000)
    price = serializers.DecimalField(max_digits=9, decimal_places=2, min_value=0)


class OfferIn(serializers.Serializer[Data]):
    """A supplier's price of a pack, by pieces or by grams; the same pack is stated anew."""

    sure = Sure()
    supplier = serializers.CharField(max_length=80)
    callout = serializers.CharField(max_length=120)
    pack = serializers.IntegerField(required=False, min_value=1, max_value=MAX_QUANTITY)
    pack_grams = Grams()
    price = serializers.DecimalField(max_digits=9, decimal_places=2, min_value=0)
    breaks = BreakIn(  # type: ignore[call-arg]
        many=True, required=False, max_length=4
    )
    most_packs = serializers.IntegerField(required=False, min_value=1, max_value=10_000)
    lead_days = serializers.IntegerField(required=False, min_value=0, max_value=730)
    life_days = serializers.IntegerField(required=False, min_value=1, max_value=7300)
    their_number = serializers.CharField(
        required=False, allow_blank=True, max_length=60
    )


class BreakOut(serializers.Serializer[Any]):
    """From so many packs on, each costs this."""

    from_packs = serializers.IntegerField()
    price = serializers.FloatField()


class OfferOut(serializers.Serializer[Any]):
    """A pack that a supplier sells; without a price, only who and how soon."""

    id = serializers.IntegerField()
    supplier = serializers.CharField()
    item = serializers.IntegerField()
    callout = serializers.CharField(allow_blank=True)
    pack = serializers.IntegerField(allow_null=True)
    pack_grams = serializers.FloatField(allow_null=True)
    price = serializers.FloatField(allow_null=True)
    breaks = BreakOut(many=True)
    most_packs = serializers.IntegerField(allow_null=True)
    lead_days = serializers.IntegerField(allow_null=True)
    life_days = serializers.IntegerField(allow_null=True)
    their_number = serializers.CharField(allow_blank=True)


class OrderLineIn(serializers.Serializer[Data]):
    """Packs of a callout, by pieces or by grams a pack."""

    callout = serializers.CharField(max_length=120)
    packs = serializers.IntegerField(min_value=1, max_value=10_000)
    pack_pieces = serializers.IntegerField(
        required=False, min_value=1, max_value=MAX_QUANTITY
    )
    pack_grams = Grams()


class OrderIn(serializers.Serializer[Data]):
    """An order that was placed."""

    sure = Sure()
    supplier = serializers.CharField(max_length=80)
    reference = serializers.CharField(required=False, max_length=60)
    placed_on = serializers.DateField(required=False)
    expected_on = serializers.DateField(required=False)
    lines = OrderLineIn(  # type: ignore[call-arg]
        many=True, allow_empty=False, max_length=200
    )


class OrderLineOut(serializers.Serializer[Any]):
    """A line with what came of it and what its rest blocks."""

    id = serializers.IntegerField()
    item = serializers.IntegerField()
    words = serializers.CharField()
    packs = serializers.IntegerField()
    pack_pieces = serializers.IntegerField(allow_null=True)
    pack_grams = serializers.FloatField(allow_null=True)
    received = serializers.IntegerField()
    missing = serializers.IntegerField()
    blocks = serializers.ListField(child=serializers.CharField())


class OrderOut(serializers.Serializer[Any]):
    """An order."""

    number = serializers.IntegerField()
    code = serializers.CharField()
    supplier = serializers.CharField()
    reference = serializers.CharField(allow_blank=True)
    placed_on = serializers.DateField()
    expected_on = serializers.DateField()
    lines = OrderLineOut(many=True)


class ReceiptIn(serializers.Serializer[Data]):
    """A delivery into a bin: counted, or weighed with or without a counted sample."""

    id = ActId()
    sure = Sure()
    bin = serializers.IntegerField(min_value=1, max_value=codes.LARGEST)
    line = serializers.IntegerField(required=False, min_value=1, max_value=MAX_ID)
    supplier = serializers.CharField(required=False, max_length=80)
    pieces = serializers.IntegerField(
        required=False, min_value=1, max_value=MAX_QUANTITY
    )
    grams = Grams()
    sample_pieces = serializers.IntegerField(
        required=False, min_value=1, max_value=100_000
    )
    sample_grams = Grams()
    lot = serializers.CharField(required=False, max_length=60)
    paper = serializers.CharField(required=False, max_length=60)
    expires_on = serializers.DateField(required=False)
    closes = serializers.BooleanField(required=False)


class OrderPlanIn(serializers.Serializer[Data]):
    """How many days to look ahead, how many seconds the solver may take."""

    days_ahead = serializers.IntegerField(required=False, min_value=0, max_value=1500)
    limit_seconds = serializers.IntegerField(required=False, min_value=1, max_value=120)


class OrderPlanOut(serializers.Serializer[Any]):
    """How the last asking stands, and the last plan that was worked out.

    The plan: objective, bound, gap, status; suppliers with lines; what is late, left out.
    """

    state = serializers.CharField()
    sentence = serializers.CharField(allow_blank=True)
    elapsed = serializers.FloatField()
    limit_seconds = serializers.IntegerField(allow_null=True)
    plan = serializers.DictField(allow_null=True)


class OrderNumbersOut(serializers.Serializer[Any]):
    """The orders that were noted."""

    orders = serializers.ListField(child=serializers.IntegerField())
