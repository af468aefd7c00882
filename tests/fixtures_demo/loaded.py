"""The demo as it is loaded on one day."""

from datetime import date

from inventory.management.commands.load_demo import load
from tests.again import made_once

TODAY = date(2028, 2, 29)


@made_once
def loaded(_owner: None = None) -> None:
    """The whole demo; it makes its own owner."""
    load(TODAY)
