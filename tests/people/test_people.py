"""The owner, the devices, the settings."""

import pytest

from inventory.errors import Refused
from inventory.people.actions import (
    create_owner,
    register_device,
    revoke_device,
    settle_shop,
)
from inventory.people.queries import device_of, mail_address, shop

pytestmark = pytest.mark.django_db


def test_a_shop_has_one_owner_with_a_long_password():
    with pytest.raises(Refused, match="longer phrase"):
        create_owner(name="Wren", password="short")
    create_owner(name="Wren", password="a phrase long enough", email="w@example.org")
    assert mail_address() == "w@example.org"
    with pytest.raises(Refused, match="has an owner"):
        create_owner(name="Tamsin", password="a phrase long enough")


def test_a_revoked_token_is_dead_at_once(owner, now):
    device, token = register_device(name="bench 1", by=owner, now=now)
    assert device_of(token) == device
    revoke_device(device=device, by=owner, now=now)
    assert device_of(token) is None
    assert device_of("") is None


def test_settings_refuse_what_makes_no_sense(owner):
    with pytest.raises(Refused, match="stage confidence"):
        settle_shop(changes={"stage_confidence": "1.5"}, by=owner)
    settle_shop(changes={"pace_days": 14}, by=owner)
    assert shop().pace_days == 14
