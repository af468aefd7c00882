"""What the record says of the bins, how far it can be trusted, and what is on the way."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import factorial

import numpy as np
from numpy.typing import NDArray

from inventory.forecasting.rules.counts import Floats
from inventory.forecasting.rules.stock import Arrival, Stock
from inventory.ledger.rules import HAND_SHARE, CountFacts, doubt, learned_variance
from inventory.rehearsal.seen.plan import Part
from inventory.rehearsal.seen.prices import Seller, cheapest
from inventory.rehearsal.seen.shop import ShopSeen
from inventory.trade import callouts

Integers = NDArray[np.int64]
# Days until a parcel comes: common practice.
LEAD_DAYS = 5
# A parcel that has not come after so many days is late.
_LATE_AFTER = LEAD_DAYS + 3
# A bag weighed against a sample of 100 pieces is known to so much of itself (computed
# from the sizes, which are from memory).
_WEIGHED = 0.012
# '45 up, its neighbour 45 down': what is taken from the wrong tin at once, once in so
# many pulls until counts have shown how often, worth that many pulls of record (tuned).
_HANDFUL, _MOST_HANDFULS, _PULLS_A_MISTAKE = 45, 5, 50.0


@dataclass(frozen=True)
class Mistaken(Stock):
    """A stock from which so many handfuls, on average, were taken by mistake."""

    handfuls: float = 0.0

    def chances(self) -> tuple[int, Floats]:
        """The least it can be, and its chances from there on; never under nought."""
        low, pmf = super().chances()
        if self.handfuls <= 0:
            return low, pmf
        taken = np.zeros(_HANDFUL * _MOST_HANDFULS + 1)
        for times in range(_MOST_HANDFULS + 1):
            taken[-1 - _HANDFUL * times] = self.handfuls**times / factorial(times)
        left = np.convolve(pmf, taken / taken.sum())
        low -= taken.size - 1
        if low < 0:
            left = np.concatenate(([left[: 1 - low].sum()], left[1 - low :]))
        return max(0, low), left


@dataclass(frozen=True, eq=False)
class OnItsWay:
    """An order on its way: when it was sent, the pieces its bags should hold."""

    parcel: object
    day: int
    pieces: Mapping[int, int]


class BinLog:
    """The policy's own log, beside the shop's record.

    By part: the variance of what was stated (counts by hand, bags weighed), the pieces
    moved since, and the pulls of its look-alikes, each of which may have been from this
    bin. What a moved piece adds to the doubt, and how often a hand errs, is learned
    from counts.
    """

    def __init__(self, parts: Sequence[Part], pieces_a_pull: float) -> None:
        self.parts = tuple(parts)
        self.due: list[OnItsWay] = []
        self._a_pull = pieces_a_pull
        self._variance, self._moved, self._beside = np.zeros((3, len(parts)))
        self._look_alikes = _look_alikes(parts)
        self._squares = self._checked = 0.0
        self._mistakes, self._pulls = 1.0, _PULLS_A_MISTAKE

    def order(
        self, shop: ShopSeen, wanted: Mapping[int, int], supplier: Seller
    ) -> None:
        """Order, and note what was ordered."""
        shop.order(wanted, supplier)
        bags = {
            at: sum(cheapest(supplier, self.parts[at], pieces).bags)
            for at, pieces in wanted.items()
        }
        self.due.append(OnItsWay(shop.coming[-1], shop.day, bags))

    def put_away(self, shop: ShopSeen) -> None:
        """Parcels that are no longer on the way were weighed into their bins."""
        there = {id(parcel) for parcel in shop.coming}
        for each in [each for each in self.due if id(each.parcel) not in there]:
            self.due.remove(each)
            for at, pieces in each.pieces.items():
                self._variance[at] += (_WEIGHED * pieces) ** 2

    def late(self, shop: ShopSeen) -> Integers:
        """Pieces by part, here by the record or due in time, of what a parcel is late
        with; -1 of the rest."""
        found = np.full(len(self.parts), -1)
        late = [each for each in self.due if shop.day - each.day > _LATE_AFTER]
        for part in {part for each in late for part in each.pieces}:
            coming = sum(
                each.pieces.get(part, 0) for each in self.due if each not in late
            )
            found[part] = int(shop.recorded[part]) + coming
        return found

    def pulled(self, part: int, pieces: int) -> None:
        """Pieces that left a bin."""
        self._moved[part] += pieces
        self._beside[self._look_alikes[part]] += 0.5

    def count(self, shop: ShopSeen, part: int, *, explained: bool = False) -> None:
        """Recount a bin; a difference nobody can explain teaches how far records err."""
        said = int(shop.recorded[part])
        shop.count(part)
        if not explained:
            self._learn(part, int(shop.recorded[part]) - said)
        self.known(part, int(shop.recorded[part]))

    def _learn(self, part: int, off: int) -> None:
        """A difference of half a handful or more was a mistaken tin."""
        self._pulls += float(self._beside[part])
        if abs(off) >= _HANDFUL / 2:
            self._mistakes += 1
        else:
            self._squares += max(0.0, off**2 - float(self._variance[part]))
            self._checked += float(self._moved[part])

    def known(self, part: int, pieces: int) -> None:
        """Someone has looked: so many pieces are in a bin."""
        self._variance[part] = (HAND_SHARE * pieces) ** 2
        self._moved[part] = self._beside[part] = 0

    def stock(self, shop: ShopSeen, part: int, needs: Integers | None = None) -> Stock:
        """What is here and on the way, as a distribution; doubted for the work so far.

        With `needs`, pieces by part, also for what the hand will take from this bin by
        mistake during that work. A parcel on its way will come: its pieces ordered
        again would seldom be here before it.
        """
        coming = sum(each.pieces.get(part, 0) for each in self.due)
        arrivals = (Arrival(coming, 1.0),) if coming else ()
        pulls = float(self._beside[part])
        if needs is not None:
            pulls += float(needs[self._look_alikes[part]].sum()) / self._a_pull / 2
        mistaken = round(pulls * self._mistakes / self._pulls, 2)
        here = int(shop.recorded[part])
        return Mistaken(here, self._doubt(part, here), arrivals, mistaken)

    def _doubt(self, part: int, here: int) -> float:
        stated, moved = float(np.sqrt(self._variance[part])), round(self._moved[part])
        facts = CountFacts(part, part, here, here, stated, True, moved)
        a_piece = learned_variance(self._squares, round(self._checked))
        return round(doubt(facts, a_piece), 1)


def _look_alikes(parts: Sequence[Part]) -> list[list[int]]:
    """For each part the parts half a size up or down."""
    read = [callouts.readings(part.callout).found for part in parts]
    keys = {found[0].key: at for at, found in enumerate(read) if len(found) == 1}
    return [
        [keys[key] for key in callouts.next_sizes(found[0]) if key in keys]
        if len(found) == 1
        else []
        for found in read
    ]
