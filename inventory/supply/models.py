"""Suppliers, what they offer, orders and what arrived of them."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.trade import codes


class Supplier(models.Model):
    """Who delivers. `lead_days` from order to bench; empty where unknown."""

    name = models.CharField(max_length=80, unique=True)
    place = models.OneToOneField(
        "inventory.Place", models.PROTECT, related_name="supplier"
    )
    lead_days = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Offer(models.Model):
    """An item that a supplier sells: pieces a pack, days to deliver."""

    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="offers")
    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="offers")
    pack = models.PositiveIntegerField(null=True, blank=True)
    lead_days = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["item", "supplier"], name="offer_once_an_item_and_supplier"
            )
        ]

    def __str__(self) -> str:
        return f"{self.item_id} from {self.supplier_id}"


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
                condition=Q(number__lte=9999), name="order_number_fits_its_code"
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
    """One delivered quantity of one item, for an order line or without an order."""

    line = models.ForeignKey(
        OrderLine, models.PROTECT, null=True, related_name="receipts"
    )
    act = models.OneToOneField("inventory.Act", models.PROTECT, related_name="receipt")
    pieces = models.PositiveIntegerField()
    closes = models.BooleanField(default=False)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.pieces} received"
