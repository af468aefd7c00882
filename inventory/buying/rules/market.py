"""What an order plan is told and shown: the problem, and the words for its numbers."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from inventory import days
from inventory.buying.rules.orderplan import Problem
from inventory.forecasting.rules.deciding import Decided

# How far an order plan looks unless somebody says otherwise. A choice, rehearsed: builds
# that look 120 days ahead send more than twice the parcels and spend a quarter more, and four
# years ahead hardly saves more than one.
DAYS_AHEAD = 365


@dataclass(frozen=True)
class Thing:
    """An item in words, and how it is counted."""

    words: str
    callout: str
    unit: str = "pcs"

    @property
    def title(self) -> str:
        """The callout where there is one: it is what an order names."""
        return self.callout or self.words


@dataclass(frozen=True)
class SoldPack:
    """A pack as it is sold."""

    pieces: int | None
    grams: Decimal | None

    @property
    def words(self) -> str:
        """'250' or '113.4 g'."""
        return f"{self.grams.normalize():f} g" if self.grams else str(self.pieces)


@dataclass(frozen=True)
class StageWant:
    """What a stage still wants of an item, with all stages before it."""

    item: int
    day: int
    stage: str
    pieces: int


@dataclass(frozen=True)
class Wanted:
    """What the stages within the days looked ahead want, and what those after them do."""

    now: Sequence[StageWant]
    later: Sequence[StageWant]


def wanted(
    decided: Decided, today: date, days_ahead: int, names: Mapping[int, str]
) -> Wanted:
    """What was decided to order, the stages by their names; later is beyond now."""
    rows = [
        StageWant(
            wish.item,
            max(0, (wish.stage.start - today).days),
            names.get(wish.stage.pk, ""),
            wish.pieces,
        )
        for wish in decided.wishes
    ]
    now = [row for row in rows if row.day <= days_ahead]
    most: dict[int, int] = {}
    for row in now:
        most[row.item] = max(row.pieces, most.get(row.item, 0))
    later = [
        row
        for row in rows
        if row.day > days_ahead and row.pieces > most.get(row.item, 0)
    ]
    return Wanted(now, later)


def spare(
    decided: Decided, here: Mapping[int, int], items: Iterable[int]
) -> dict[int, int]:
    """Stock that no open stage will use, its spoilage reckoned high, by item."""
    use: dict[int, int] = {}
    for stage in decided.stages:
        for line in stage.lines:
            use[line.item_id] = use.get(line.item_id, 0) + line.use_95
    wished = {wish.item for wish in decided.wishes}
    found = {item: here.get(item, 0) - use.get(item, 0) for item in items}
    return {item: n for item, n in found.items() if n > 0 and item not in wished}


@dataclass(frozen=True)
class Market:
    """An order plan's problem as of a day, its words, and what was left out of it.

    `asked` is what the stages within the days looked ahead want, `later` what those
    after them do.
    """

    today: date
    problem: Problem
    asked: Sequence[StageWant]
    later: Sequence[StageWant]
    things: Mapping[int, Thing]
    packs: Mapping[int, SoldPack]
    left_out: Sequence[str]
    guessed_days: frozenset[int] = frozenset()
    currency: str = ""

    def on(self, day: int) -> date:
        """The date of a day of the plan."""
        return self.today + timedelta(days=day)

    def day_words(self, day: int) -> str:
        """A day of the plan as people write it: '12 Mar 2027'."""
        return days.said(self.on(day))

    def says(self, amount: Decimal) -> str:
        """An amount as people write it."""
        return f"{amount:,.2f} {self.currency}".strip()
