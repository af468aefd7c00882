"""Reads about the shop and its people."""

import hashlib

from inventory.people.models import Device, Shop, User


def shop() -> Shop:
    """The shop's one row of settings, made with its defaults at first need."""
    return Shop.objects.get_or_create(pk=1)[0]


def device_of(token: str) -> Device | None:
    """The device that shows this token, unless it was revoked."""
    return (
        Device.objects.select_related("person")
        .filter(
            token_hash=hashlib.sha256(token.encode()).hexdigest(),
            revoked_at__isnull=True,
            person__is_active=True,
        )
        .first()
    )


def mail_address() -> str:
    """Where alerts are sent; empty when nobody has an address."""
    return shop().mail_to or (
        User.objects.filter(is_superuser=True, is_active=True)
        .exclude(email="")
        .order_by("pk")
        .values_list("email", flat=True)
        .first()
        or ""
    )
