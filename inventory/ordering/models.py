"""Suppliers, what they offer, orders, and what arrived of them."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.ordering.rules.packs import pack_words
from inventory.trade import codes


class Supplier(models.Model):
    """Who delivers, how soon and at what terms. `lead_days` is empty where unknown.

    Money is in the shop's own currency. `free_from` is the goods from which shipping
    is free; empty: never. `account` is the shop's number there.
    """

    name = models.CharField(max_length=80, unique=True)
    place = models.OneToOneField(
        "inventory.Place", models.PROTECT, related_name="supplier"
    )
    lead_days = models.PositiveSmallIntegerField(null=True, blank=True)
    shipping = models.DecimalField(max_digits=9, decimal_places=2, default=Decimal(0))
    hazard_fee = models.DecimalField(max_digits=9, decimal_places=2, default=Decimal(0))
    free_from = models.DecimalField(
        max_digits=9, decimal_places=2, null=True, blank=True
    )
    minimum = models.DecimalField(max_digits=9, decimal_places=2, default=Decimal(0))
    web = models.URLField(max_length=200, blank=True)
    account = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(shipping__gte=0) & Q(hazard_fee__gte=0) & Q(minimum__gte=0),
                name="supplier_terms_not_negative",
            )
        ]

    def __str__(self) -> str:
        return self.name


class Offer(models.Model):
    """A pack of an item that a supplier sells: by pieces, or by grams; its price.

    Without a price it only says who sells the item and how soon. `most_packs` is how
    many are to be had, `life_days` how long it keeps from delivery. `their_number` is the
    supplier's part number; it names the item everywhere, and scans.
    """

    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="offers")
    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="offers")
    pack = models.PositiveIntegerField(null=True, blank=True)
    pack_grams = models.DecimalField(
        max_digits=9, decimal_places=2, null=True, blank=True
    )
    price = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    most_packs = models.PositiveIntegerField(null=True, blank=True)
    lead_days = models.PositiveSmallIntegerField(null=True, blank=True)
    life_days = models.PositiveSmallIntegerField(null=True, blank=True)
    their_number = models.CharField(max_length=60, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["item", "supplier", "pack"],
                condition=Q(pack__isnull=False),
                name="offer_once_a_pack_of_pieces",
            ),
            models.UniqueConstraint(
                fields=["item", "supplier", "pack_grams"],
                condition=Q(pack_grams__isnull=False),
                name="offer_once_a_pack_of_grams",
            ),
            models.UniqueConstraint(
                fields=["item", "supplier"],
                condition=Q(pack=None, pack_grams=None),
                name="offer_once_without_a_pack",
            ),
            models.CheckConstraint(
                condition=Q(pack=None) | Q(pack_grams=None),
                name="offer_pack_has_pieces_or_weight",
            ),
            models.CheckConstraint(
                condition=Q(price=None) | Q(price__gte=0),
                name="offer_price_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item_id} from {self.supplier_id}"

    @property
    def pack_words(self) -> str:
        """What a pack is: '250', '113.4 g', or nothing where nobody said."""
        return pack_words(self.pack, self.pack_grams)


class PriceBreak(models.Model):
    """Another price a pack, for all of them, from so many packs on."""

    offer = models.ForeignKey(Offer, models.CASCADE, related_name="breaks")
    from_packs = models.PositiveIntegerField()
    price = models.DecimalField(max_digits=10, decimal_places=2)

    class Meta:
        ordering = ["from_packs"]
        constraints = [
            models.UniqueConstraint(
                fields=["offer", "from_packs"], name="break_once_a_count"
            ),
            models.CheckConstraint(
                condition=Q(from_packs__gt=1) & Q(price__gte=0),
                name="break_from_two_packs_on",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.price} from {self.from_packs}"


class Order(models.Model):
    """An order that was placed."""

    number = models.PositiveIntegerField(unique=True)
    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="orders")
    reference = models.CharField(max_length=60, blank=True)
    placed_on = models.DateField()
    expected_on = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT)

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.CheckConstraint(
                condition=Q(number__lte=codes.LARGEST),
                name="order_number_fits_its_code",
            )
        ]

    def __str__(self) -> str:
        return f"order {self.number}"

    @property
    def code(self) -> str:
        """What its papers may carry: 'XR000123'."""
        return codes.make("R", self.number)


class OrderLine(models.Model):
    """Packs of one item. A pack by weight has grams and no pieces until it is known."""

    order = models.ForeignKey(Order, models.PROTECT, related_name="lines")
    item = models.ForeignKey(
        "inventory.Item", models.PROTECT, related_name="order_lines"
    )
    packs = models.PositiveIntegerField()
    pack_pieces = models.PositiveIntegerField(null=True, blank=True)
    pack_grams = models.DecimalField(
        max_digits=9, decimal_places=2, null=True, blank=True
    )
    dropped_at = models.DateTimeField(null=True, blank=True)
    dropped_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(packs__gt=0), name="order_line_asks_something"
            ),
            models.CheckConstraint(
                condition=Q(pack_pieces__gt=0) | Q(pack_grams__gt=0),
                name="order_line_pack_has_pieces_or_weight",
            ),
            models.CheckConstraint(
                condition=Q(dropped_at=None, dropped_by=None)
                | Q(dropped_at__isnull=False, dropped_by__isnull=False),
                name="order_line_dropped_at_and_by",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.packs} packs of {self.item_id}"


class Receipt(models.Model):
    """One delivered quantity of one item, for an order line or without an order.

    `guessed_grams` is what it weighed, where the pieces were reckoned from a piece mass
    that nobody had weighed yet.
    """

    line = models.ForeignKey(
        OrderLine, models.PROTECT, null=True, related_name="receipts"
    )
    act = models.OneToOneField("inventory.Act", models.PROTECT, related_name="receipt")
    pieces = models.PositiveIntegerField()
    closes = models.BooleanField(default=False)
    guessed_grams = models.DecimalField(
        max_digits=9, decimal_places=2, null=True, blank=True
    )

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.pieces} received"
