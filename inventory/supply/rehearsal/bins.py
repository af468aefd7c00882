"""What the record says of the bins, how far it can be trusted, and what is on the way."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.forecasting.rules.stock import Arrival, Stock
from inventory.ledger.rules import HAND_SHARE, CountFacts, doubt, learned_variance
from inventory.supply.rehearsal.aircraft import Part
from inventory.supply.rehearsal.builds import Shop
from inventory.supply.rehearsal.market import Parcel, Supplier, cheapest
from inventory.trade import callouts

Integers = NDArray[np.int64]
# Days until a parcel comes: common practice.
LEAD_DAYS = 5
# A bag weighed against a sample of 100 pieces is known to so much of itself (computed
# from the sizes, which are from memory).
_WEIGHED = 0.012


@dataclass(frozen=True, eq=False)
class Due:
    """An order on its way, and the pieces its bags should hold."""

    parcel: Parcel
    pieces: Mapping[int, int]


class Bins:
    """The policy's own log, beside the shop's record.

    By part: the variance of what was stated (counts by hand, bags weighed), and the
    pieces moved since, half of the look-alikes' among them: a hand errs to either side.
    What a moved piece adds to the doubt is learned from counts.
    """

    def __init__(self, parts: Sequence[Part]) -> None:
        self.parts = tuple(parts)
        self.due: list[Due] = []
        self._variance = np.zeros(len(parts))
        self._moved = np.zeros(len(parts))
        self._look_alikes = _look_alikes(parts)
        self._squares = self._checked = 0.0

    def order(self, shop: Shop, wanted: Mapping[int, int], supplier: Supplier) -> None:
        """Order, and note what was ordered."""
        shop.order(wanted, supplier)
        bags = {
            at: sum(cheapest(supplier, self.parts[at], pieces).bags)
            for at, pieces in wanted.items()
        }
        self.due.append(Due(shop.coming[-1], bags))

    def put_away(self, shop: Shop) -> None:
        """Parcels that are no longer on the way were weighed into their bins."""
        there = {id(parcel) for parcel in shop.coming}
        for each in [each for each in self.due if id(each.parcel) not in there]:
            self.due.remove(each)
            for at, pieces in each.pieces.items():
                self._variance[at] += (_WEIGHED * pieces) ** 2

    def pulled(self, part: int, pieces: int) -> None:
        """Pieces that left a bin."""
        self._moved[part] += pieces
        for beside in self._look_alikes[part]:
            self._moved[beside] += pieces / 2

    def count(self, shop: Shop, part: int, *, explained: bool = False) -> None:
        """Recount a bin; a difference nobody can explain teaches how far records err."""
        said = int(shop.recorded[part])
        shop.count(part)
        if not explained:
            square = (int(shop.recorded[part]) - said) ** 2
            self._squares += max(0.0, square - float(self._variance[part]))
            self._checked += float(self._moved[part])
        self.known(part, int(shop.recorded[part]))

    def known(self, part: int, pieces: int) -> None:
        """Someone has looked: so many pieces are in a bin."""
        self._variance[part] = (HAND_SHARE * pieces) ** 2
        self._moved[part] = 0

    def stock(self, shop: Shop, part: int, needs: Integers | None = None) -> Stock:
        """What is here and on the way, as a distribution; doubted for the work so far.

        With `needs`, pieces by part, also for what the hand will take from this bin by
        mistake during that work. A parcel on its way will come: its pieces ordered
        again would seldom be here before it.
        """
        coming = sum(each.pieces.get(part, 0) for each in self.due)
        arrivals = (Arrival(coming, 1.0),) if coming else ()
        moved = float(self._moved[part])
        if needs is not None:
            moved += sum(int(needs[at]) for at in self._look_alikes[part]) / 2
        here = int(shop.recorded[part])
        return Stock(here, self._doubt(part, here, round(moved)), arrivals)

    def _doubt(self, part: int, here: int, moved: int) -> float:
        stated = float(np.sqrt(self._variance[part]))
        facts = CountFacts(part, part, here, here, stated, True, moved)
        a_piece = learned_variance(self._squares, round(self._checked))
        return round(doubt(facts, a_piece), 1)


def _look_alikes(parts: Sequence[Part]) -> list[list[int]]:
    """For each part the parts half a size up or down."""
    read = [callouts.readings(part.callout).found for part in parts]
    keys = {found[0].key: at for at, found in enumerate(read) if len(found) == 1}
    return [
        [keys[key] for key in callouts.neighbours(found[0]) if key in keys]
        if len(found) == 1
        else []
        for found in read
    ]
