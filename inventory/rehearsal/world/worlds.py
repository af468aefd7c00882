"""The worlds that builds are rehearsed in: how builders work, when parcels come."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from inventory.rehearsal.seen.plan import Aircraft
from inventory.rehearsal.seen.prices import Seller
from inventory.rehearsal.world import builders, moody, parcels
from inventory.rehearsal.world.builders import Work


@dataclass(frozen=True)
class World:
    """How a build's work is drawn, and the days a parcel takes."""

    name: str
    draw: Callable[[Aircraft, np.random.Generator], Work]
    days: Callable[[Seller, np.random.Generator], int]


WORLDS = (
    World("steady hands", builders.draw, parcels.days_taken),
    World("moody hands", moody.draw, moody.days_taken),
)
