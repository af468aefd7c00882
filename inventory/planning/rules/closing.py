"""What is looked at before an assembly is closed: what is over, under and still inside."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

# Fewer pieces than this on both sides are spoilage and slips, not two tins mixed up.
LEAST_SWAP = 2

# What may have become of a tool that did not come back.
FATES = {
    "lost": "lost",
    "inside": "left inside",
    "broken": "broken",
}


@dataclass(frozen=True)
class Used:
    """One item at an assembly: what the drawing asks, and what is recorded there.

    `tool`: it is held for a while and comes back; the drawing asks for none.
    """

    item: int
    words: str
    need: int
    here: int
    tool: bool = False

    @property
    def over(self) -> int:
        """Pieces more than the drawing asks."""
        return max(0, self.here - self.need)

    @property
    def under(self) -> int:
        """Pieces fewer than the drawing asks."""
        return max(0, self.need - self.here)


@dataclass(frozen=True)
class Swap:
    """Two look-alikes of which one is over by what the other is under."""

    over: Used
    under: Used
    differs: str

    @property
    def count(self) -> int:
        """Pieces that may sit in the wrong holes."""
        return min(self.over.over, self.under.under)

    @property
    def sentence(self) -> str:
        """What to look at, before the skin is closed."""
        return (
            f"{self.over.words} is {self.over.over:,} over, {self.under.words} is "
            f"{self.under.under} under. The first is {self.differs}: {self.count} "
            "pieces may sit in the wrong holes. Look before it is closed."
        )


def swaps(rows: Sequence[Used], differs: Callable[[int, int], str]) -> list[Swap]:
    """Pairs of look-alikes that point to mixed tins, the most pieces first.

    `differs` gives in words how one item differs from its look-alike, '' for no
    look-alike.
    """
    pairs = [
        Swap(over, under, differs(over.item, under.item))
        for over in rows
        for under in rows
        if over.over and under.under and not over.tool and not under.tool
    ]
    found = [pair for pair in pairs if pair.differs and pair.count >= LEAST_SWAP]
    return sorted(found, key=lambda pair: (-pair.count, pair.over.item))


@dataclass(frozen=True)
class Left:
    """What becomes of an item still noted at an assembly: so many go back to a bin.

    Of a fastener the rest is in the joints, or spoiled; of a tool `fate` says what
    became of the rest, a key of FATES.
    """

    item: int
    back: int
    fate: str = ""
