"""What an order plan is told and shown: the problem, and the words for its numbers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from inventory import days
from inventory.buying.rules.orderplan import Problem


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
