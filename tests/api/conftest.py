"""A script's view of the shop: a device with a token."""

import pytest
from rest_framework.test import APIClient

from inventory.people.actions import register_device


@pytest.fixture
def device(owner, now):
    """A client that shows a device's token."""
    _device, token = register_device(name="bench 1", by=owner, now=now)
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    return client
