"""What one stage asks of one thing, and how that stands: a type for each kind of line."""

from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar

from inventory.ordering.rules.leads import Lead


@dataclass(frozen=True, kw_only=True)
class Line:
    """What every line has. `kind` names its type, `cause` why it is told when short.

    `through` is what is asked up to and with this stage; `use_95` what 19 in 20
    builders would use at most in it; `chance_short` the chance that it runs out by its
    end. `item_id` is what to order, 0 where nothing of the kind is stocked. `due` comes
    in time, `late` comes `days_late` after the stage starts, at the earliest. What is on
    order is not ordered again: `to_order` is beyond all of it. `runs` is the verb that
    its words take.
    """

    kind: ClassVar[str]
    cause: ClassVar[str]
    runs: ClassVar[str] = "runs"

    item_id: int
    need: int
    through: int
    on_hand: int
    due: int
    expected_use: float
    use_95: int
    chance_short: float
    certainly_short: bool
    order_by: date
    lead: Lead
    to_order: int
    short: bool
    late: int = 0
    days_late: int = 0

    @property
    def on_order(self) -> str:
        """What to do about what is on order, where the stage may stop for want of it."""
        if not self.short:
            return ""
        if self.late:
            days = f"{self.days_late} day{'' if self.days_late == 1 else 's'} late"
            return f"{self.late:,} ordered, {days}: hurry it, move the date, or borrow"
        if self.due and not self.to_order:
            return f"{self.due:,} ordered, and may come late: ask the supplier"
        return ""

    def words(self, item: str) -> str:
        """What it is about, in plain words; `item` are those of what to order."""
        raise NotImplementedError

    @property
    def why_short(self) -> str:
        """How short it is, for the alert."""
        raise NotImplementedError

    @property
    def subject(self) -> str:
        """What an alert about it is about: one a thing, whichever stage comes first."""
        return f"item {self.item_id}"

    def details(self) -> dict[str, Any]:
        """What only some kinds have, JSON-ready; without them nought and nothing."""
        return {"doubt": 0.0, "run_out": None, "note": ""}


@dataclass(frozen=True, kw_only=True)
class ItemLine(Line):
    """Pieces of an item that are used up.

    `doubt` is the standard deviation of what is on hand, `run_out` the day it is
    expected to end, `worth_counting` what a recount could spare, in chances of a stop,
    `worth_looking` what a look into the bin could.
    """

    kind = "item"
    cause = "short"

    doubt: float = 0.0
    run_out: date | None = None
    worth_counting: float = 0.0
    worth_looking: float = 0.0

    def words(self, item: str) -> str:
        return item

    @property
    def why_short(self) -> str:
        if self.certainly_short:
            return (
                f"certain: {self.through:,} needed by its end, {self.on_hand:,} on hand and "
                f"{self.due:,} due"
            )
        return (
            f"a chance of {self.chance_short:.0%}: {self.on_hand:,} on hand, "
            f"{self.due:,} due, {self.through:,} needed by its end before spoilage"
        )

    def details(self) -> dict[str, Any]:
        run_out = self.run_out.isoformat() if self.run_out else None
        own = {"doubt": round(self.doubt, 1), "run_out": run_out}
        return {**super().details(), **own}


@dataclass(frozen=True, kw_only=True)
class SizeLine(Line):
    """A tool that goes by its size, whichever item of that size there is."""

    size: str
    note: str

    @property
    def subject(self) -> str:
        return f"item {self.item_id}" if self.item_id else f"{self.kind} {self.size}"

    def details(self) -> dict[str, Any]:
        return {**super().details(), "note": self.note}


@dataclass(frozen=True, kw_only=True)
class PoolLine(SizeLine):
    """Temporary fasteners of one size: the most held at once against those owned."""

    kind = "pool"
    cause = "pool"
    runs = "run"

    def words(self, item: str) -> str:
        return f"{self.size} temporary fasteners"

    @property
    def why_short(self) -> str:
        return f"{self.note}; {self.on_hand:,} owned and {self.due:,} due"


@dataclass(frozen=True, kw_only=True)
class DrillLine(SizeLine):
    """Bits of one size: those wanted for the holes against the sharp ones."""

    kind = "drill"
    cause = "drills"
    runs = "run"

    def words(self, item: str) -> str:
        return f"{self.size} drills"

    @property
    def why_short(self) -> str:
        bits = f"{self.through:,} bit{'' if self.through == 1 else 's'} wanted"
        return f"{self.note}: {bits}, {self.on_hand:,} sharp"


@dataclass(frozen=True, kw_only=True)
class ToolLine(SizeLine):
    """A die, cutter or set of one size, which is there or not."""

    kind = "tool"
    cause = "tools"

    def words(self, item: str) -> str:
        return self.size

    @property
    def why_short(self) -> str:
        return self.note


LINES: tuple[type[Line], ...] = (ItemLine, PoolLine, DrillLine, ToolLine)
OF_TOOLS = frozenset(each.kind for each in LINES if issubclass(each, SizeLine))
