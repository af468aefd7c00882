"""The shop as a builder may see it, and what a way of buying answers to."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from inventory.rehearsal.seen.plan import Aircraft
from inventory.rehearsal.seen.prices import Seller

REVIEW_DAYS = 7
# Looking into a bin tells its level to about so much of itself.
LOOK_SPREAD = 0.15


@dataclass(frozen=True)
class Entry:
    """What was recorded of one assembly's part: its need, and the pieces pulled."""

    part: int
    need: int
    pulled: int


class ShopSeen(Protocol):
    """The record, the day, and what may be done; what is in the bins is not seen.

    `coming` are the parcels on the way: that they are, and nothing of them.
    """

    @property
    def aircraft(self) -> Aircraft: ...

    @property
    def day(self) -> int: ...

    @property
    def recorded(self) -> np.ndarray: ...

    @property
    def coming(self) -> Sequence[object]: ...

    def order(self, wanted: Mapping[int, int], supplier: Seller | None = None) -> None:
        """Buy so many pieces of each part, from the cheaper supplier if none is named."""

    def count(self, part: int) -> None:
        """Recount a bin: the record says what is there."""

    def look(self) -> np.ndarray:
        """What the bins look like: pieces by part, give or take a share of them."""

    def on_order(self) -> np.ndarray:
        """Pieces on the way by part."""


class Policy(Protocol):
    """A way of buying."""

    name: str

    def begin(self, shop: ShopSeen) -> None:
        """Before the first rivet."""

    def review(self, shop: ShopSeen) -> None:
        """Once a week."""

    def stage_begins(self, shop: ShopSeen, stage: int) -> None:
        """When a stage begins."""

    def worked(self, shop: ShopSeen, stage: int, entry: Entry) -> None:
        """After an assembly's part is done, as it was recorded."""

    def run_out(self, shop: ShopSeen, part: int, missing: int) -> None:
        """A bin is empty and the stage stands."""
