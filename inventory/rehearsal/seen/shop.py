"""The shop as a builder may see it, and what a way of buying answers to."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from inventory.rehearsal.seen.plan import Aircraft
from inventory.rehearsal.seen.prices import Seller

REVIEW_DAYS = 14
# Looking into a bin tells its level to about so much of itself; whoever pulls sees that
# so few are left: guesses.
LOOK_SPREAD, NEARLY_EMPTY = 0.15, 25
# What looking into a bin takes, and counting it, and every hundred pieces of it, in
# minutes: guesses.
LOOK_MINUTES, COUNT_MINUTES, HUNDRED_MINUTES = 0.2, 1.0, 1.0


@dataclass(frozen=True)
class Entry:
    """What was recorded of one assembly's part: its need, and the pieces pulled."""

    part: int
    need: int
    pulled: int


class ShopSeen(Protocol):
    """The record, the day, and what may be done; what is in the bins is not seen.

    `coming` are the parcels on the way: that they are, and nothing of them; `booked` the
    pieces by part that were booked in from parcels so far.
    """

    @property
    def aircraft(self) -> Aircraft: ...

    @property
    def day(self) -> int: ...

    @property
    def recorded(self) -> np.ndarray: ...

    @property
    def booked(self) -> np.ndarray: ...

    @property
    def coming(self) -> Sequence[object]: ...

    def order(self, wanted: Mapping[int, int], supplier: Seller | None = None) -> None:
        """Buy so many pieces of each part, from the cheaper supplier if none is named."""

    def count(self, part: int) -> None:
        """Recount a bin: the record says what is there."""

    def restate(self, part: int, pieces: int) -> None:
        """The record says what was seen in a bin."""

    def pull_late(self, part: int, pieces: int) -> None:
        """Record a pull that was forgotten: the record goes down, the bin does not."""

    def look(self, parts: Collection[int]) -> dict[int, float]:
        """What some bins look like: pieces by part, give or take a share of them."""

    def on_order(self) -> np.ndarray:
        """Pieces on the way by part."""


class Policy(Protocol):
    """A way of buying."""

    name: str

    def begin(self, shop: ShopSeen) -> None:
        """Before the first rivet."""

    def received(self, shop: ShopSeen) -> None:
        """A parcel has come and is put away."""

    def review(self, shop: ShopSeen) -> None:
        """Once in REVIEW_DAYS."""

    def stage_begins(self, shop: ShopSeen, stage: int) -> None:
        """When a stage begins."""

    def worked(self, shop: ShopSeen, stage: int, entry: Entry) -> None:
        """After an assembly's part is done, as it was recorded."""

    def nearly_empty(self, shop: ShopSeen, part: int, pieces: int) -> None:
        """Whoever pulled saw that so few are left in a bin."""

    def run_out(self, shop: ShopSeen, part: int, missing: int) -> None:
        """A bin is empty and the stage stands."""
