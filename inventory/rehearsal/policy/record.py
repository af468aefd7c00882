"""What a builder's scans leave in the record, as the facts that the program decides by.

Nothing is reckoned here: each figure goes to the rule to which the program's own reads
bring it.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from math import isnan, nan

import numpy as np

from inventory.forecasting.rules.deciding import Facts
from inventory.forecasting.rules.doubts import (
    Beside,
    DoubtfulBin,
    doubtful,
    on_hand,
)
from inventory.forecasting.rules.learning import ClosedRow, Learned, learned
from inventory.forecasting.rules.readiness import StageAsk, Supplies
from inventory.forecasting.rules.use import Belief
from inventory.ledger.rules import (
    TELLING_COUNTS,
    CountFacts,
    LookFacts,
    count_record,
)
from inventory.ledger.rules.looking import NEARLY_EMPTY, Seen, Sight, looked
from inventory.ledger.rules.replaying import beyond_looks
from inventory.ordering.rules.leads import Due, Lead, lateness, lead_days
from inventory.planning.rules.dating import StageFacts, date_stages
from inventory.planning.rules.evidence import TELLING, evidence
from inventory.planning.rules.pace import pace_of
from inventory.rehearsal.seen.prices import SUPPLIERS, Seller
from inventory.rehearsal.seen.shop import Entry, ShopSeen
from inventory.trade import callouts
from inventory.trade.likeness import are_alike

# A shop's settings as they are before anybody changes them.
CONFIDENCE, PACE_DAYS = 0.95, 28
# Any day will do to count from.
_FIRST = date(2027, 1, 1)


@dataclass(frozen=True, eq=False)
class Sent:
    """An order on its way: what it is of, and the pieces its packs stand for."""

    parcel: object
    supplier: Seller
    on: date
    pieces: Mapping[int, int]

    @property
    def expected(self) -> date:
        return self.on + timedelta(days=self.supplier.days)


def said_of(about: int) -> Seen:
    """What is said of a bin in which one sees about so many."""
    return Seen(Sight.ABOUT, about) if about >= NEARLY_EMPTY else Seen(Sight.FEW)


class Record:
    """The shop's record of a build: counts, pulls, closings, orders."""

    def __init__(self, shop: ShopSeen) -> None:
        self.shop, self.parts = shop, tuple(shop.aircraft.parts)
        self.left = shop.aircraft.needs()
        self.ahead = [[*stage] for stage in shop.aircraft.stages]
        self.started: dict[int, date] = {}
        self.stated, self.moved, self.booked = np.zeros((3, len(self.parts)), dtype=int)
        self.pulled = np.zeros(len(self.parts), dtype=int)
        self.counted = np.zeros(len(self.parts), dtype=bool)
        self.rough = np.full(len(self.parts), np.nan)
        self.beside = [0] * len(self.parts)
        self.agreed: dict[int, tuple[float, int, int]] = {}
        self.found: list[tuple[int, int, int]] = []
        self.closed: list[ClosedRow] = []
        self.set_on: Counter[date] = Counter()
        self.sent: list[Sent] = []
        self.days_late: list[int] = []
        self.days_taken: dict[str, list[int]] = defaultdict(list)

    @property
    def today(self) -> date:
        return _FIRST + timedelta(days=self.shop.day)

    def starts(self, stage: int) -> None:
        """A stage is begun today."""
        self.started[stage] = self.today

    def came(self) -> None:
        """Parcels that are no longer on the way were put away today."""
        self.moved += self.shop.booked - self.booked
        self.booked = np.array(self.shop.booked)
        there = {id(parcel) for parcel in self.shop.coming}
        for each in [each for each in self.sent if id(each.parcel) not in there]:
            self.sent.remove(each)
            self.days_late.append((self.today - each.expected).days)
            taken = (self.today - each.on).days
            self.days_taken[each.supplier.name].append(taken)

    def ordered(self, supplier: Seller, pieces: Mapping[int, int]) -> None:
        """An order was sent, the last parcel that is on the way."""
        self.sent.append(Sent(self.shop.coming[-1], supplier, self.today, pieces))

    def count(self, part: int) -> None:
        """A bin is counted; the second count and those after it are evidence."""
        said = int(self.shop.recorded[part])
        self.shop.count(part)
        self._states(part, int(self.shop.recorded[part]) - said, nan)

    def look(self, part: int) -> None:
        """Somebody looks into a bin, and says about how many are in it."""
        seen = self.shop.look([part])[part]
        self.see(part, round(seen))

    def see(self, part: int, about: int) -> None:
        """It was seen that about so many are in a bin, few of them as 'nearly empty'.

        An empty one is counted by that.
        """
        if about == 0:
            self.count(part)
            return
        held = int(self.shop.recorded[part])
        found = looked(said_of(about), held, self.doubts()[part].doubt)
        rough = round(found.doubt, 2)
        if found.stated is None:
            moved = int(self.moved[part])
            self.agreed[part] = rough, moved, self._pulled_beside(part)
        else:
            self.shop.restate(part, found.stated)
            self._states(part, found.stated - held, rough)

    def _states(self, part: int, difference: int, rough: float) -> None:
        """A bin is known anew; the second time and those after are evidence."""
        if self.counted[part]:
            slack = np.nan_to_num(self.rough[part]) + np.nan_to_num(rough)
            beyond = beyond_looks(difference, float(slack))
            self.found.append((part, beyond, int(self.moved[part])))
        self.stated[part] = self.shop.recorded[part]
        self.moved[part], self.counted[part] = 0, True
        self.rough[part], self.beside[part] = rough, self._pulled_beside(part)
        self.agreed.pop(part, None)

    def _pulled_beside(self, part: int) -> int:
        beside = self._alike.get(part + 1, ())
        return int(sum(self.pulled[item - 1] for item in beside))

    def worked(self, stage: int, entry: Entry) -> None:
        """An assembly was closed; what closing finds missing is pulled then."""
        part, pulled = entry.part, entry.pulled
        if pulled < entry.need:
            self.shop.pull_late(part, entry.need - pulled)
            pulled = entry.need
        self.moved[part] += pulled
        self.pulled[part] += pulled
        self.set_on[self.today] += pulled
        self.left[stage, part] -= entry.need
        self.ahead[stage].pop(0)
        seen = evidence(entry.need, pulled, 0, closed=True)
        if seen is not None:
            name = self.parts[part].spoilage_class
            self.closed.append(ClosedRow(name, *seen))

    def learned(self) -> Learned:
        """What the last assemblies teach."""
        return learned(self.closed[-TELLING:])

    def belief(self, part: int, known: Learned) -> Belief:
        return known.of(self.parts[part].spoilage_class)

    def at_once(self) -> dict[int, int]:
        """What the largest open assembly asks, by part."""
        most: dict[int, int] = {}
        for chunk in (chunk for stage in self.ahead for chunk in stage):
            most[chunk.part] = max(chunk.need, most.get(chunk.part, 0))
        return most

    def facts(self) -> Facts:
        """What is known today. An item is numbered one above its part: 0 is no item."""
        wanted = [int(at) + 1 for at in np.flatnonzero(self.left.sum(axis=0))]
        doubts = [row for row in self.doubts() if row.known.item_id in wanted]
        known, leads = self.learned(), self._lead()
        supplies = Supplies(
            on_hand(doubts, wanted),
            list(self._due()),
            {item: self.belief(item - 1, known) for item in wanted},
            dict.fromkeys(wanted, leads),
            {part + 1: most for part, most in self.at_once().items()},
        )
        return Facts(list(self._asks()), supplies, CONFIDENCE)

    def doubts(self) -> list[DoubtfulBin]:
        """How doubtful each bin is."""
        counts = count_record(self.found[: -TELLING_COUNTS - 1 : -1])
        pulled = {at: int(pieces) for at, pieces in enumerate(self.pulled, 1)}
        return doubtful(list(self._count_facts()), Beside(self._alike, pulled), counts)

    def _count_facts(self) -> Iterator[CountFacts]:
        for at in range(len(self.parts)):
            moved = int(self.moved[at])
            rough, then, beside = self.agreed.get(at, (0.0, 0, 0))
            yield CountFacts(
                bin_id=at,
                item_id=at + 1,
                balance=int(self.shop.recorded[at]),
                stated=int(self.stated[at]),
                doubt=None if isnan(self.rough[at]) else float(self.rough[at]),
                counted_by_hand=bool(self.counted[at]),
                moved=moved,
                beside=self.beside[at],
                look=LookFacts(rough, moved - then, beside)
                if at in self.agreed
                else None,
            )

    @cached_property
    def _alike(self) -> dict[int, set[int]]:
        read = [callouts.readings(part.callout).found for part in self.parts]
        one = {at: found[0] for at, found in enumerate(read, 1) if len(found) == 1}
        return {
            at: {beside for beside in one if are_alike(one[at], one[beside])}
            for at in one
        }

    def _due(self) -> Iterator[Due]:
        waited = [each.expected for each in self.sent if each.expected < self.today]
        late = lateness([*self.days_late, *((self.today - day).days for day in waited)])
        for each in self.sent:
            for part, pieces in each.pieces.items():
                yield Due(part + 1, pieces, max(self.today, each.expected), late)

    def _lead(self) -> Lead:
        usual = [
            lead_days(each.days, self.days_taken.get(each.name, []))
            for each in SUPPLIERS
        ]
        return Lead(min(days for days in usual if days is not None), False)

    def _asks(self) -> Sequence[StageAsk]:
        pace = pace_of(self.set_on)
        rows = [
            StageFacts(
                pk=at,
                planned_start=None,
                started_on=self.started.get(at),
                finished=not self.ahead[at],
                skipped=False,
                work_days=pace.days_for(int(self.left[at].sum())),
            )
            for at in range(len(self.ahead))
        ]
        return [
            StageAsk(row.pk, row.start, row.end, self._needs(row.pk), row.give_or_take)
            for row in date_stages(rows, self.today, PACE_DAYS)
            if not row.over
        ]

    def _needs(self, stage: int) -> dict[int, int]:
        left = self.left[stage]
        return {int(at) + 1: int(left[at]) for at in np.flatnonzero(left)}
