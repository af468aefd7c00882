"""A place's record played again without what was taken back, as if it had never been."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from inventory.ledger.rules import OPENING, Found, is_cancelled


@dataclass(frozen=True)
class Entry:
    """An act as one place's record has it, in units.

    `net` is what came to the place less what left it, `by_difference` the part of it that
    came from the count difference (or went there), `moved` the pieces that came or left
    otherwise. `undoes` is the act that it takes back, `counted` what a count stated.
    `rough` is the doubt of a look; one that states nothing agreed with the record.
    """

    act: int
    at: datetime
    undoes: int | None
    is_count: bool
    counted: int | None
    reason: str
    net: int
    by_difference: int
    moved: int
    rough: float | None = None

    @property
    def states(self) -> bool:
        """Whether it says how many there are: a count, or a look the record gave way to."""
        return self.is_count or (self.rough is not None and self.counted is not None)

    @property
    def agrees(self) -> bool:
        """Whether it is a look that left the record as it was."""
        return self.rough is not None and self.counted is None


@dataclass(frozen=True)
class Known:
    """What a place's acts that stand say of it.

    Its last count, the pieces moved since then, the last look since then that agreed and
    what had moved by it, the balance as it would be by them alone, what each act since
    then lacked, and what each count found.
    """

    last_count: int | None
    moved_since: int
    last_look: int | None
    moved_at_look: int
    balance: int
    missing: Mapping[int, int]
    found: Sequence[Found]


def known(entries: Sequence[Entry], start: int = 0) -> Known:
    """What is known of a place by its entries, oldest first, beginning with `start` there."""
    chains = _chains(entries)
    stand = [
        row for row in entries if row.undoes is None and len(chains[row.act]) % 2 == 1
    ]
    last = max((row.act for row in stand if row.states), default=None)
    since = [row for row in stand if row.act > (last or 0)]
    look = max((row.act for row in since if row.agrees), default=None)
    played, recorded = _Played(start), start
    standing = {row.act for row in stand}
    for row in entries:
        recorded += row.net
        if row.act in standing:
            played.take(row, recorded)
    return Known(
        last,
        sum(row.moved for row in since),
        look,
        sum(row.moved for row in since if row.act < (look or 0)),
        played.balance,
        {act: lacks for act, lacks in played.missing.items() if act > (last or 0)},
        played.found,
    )


def _chains(entries: Sequence[Entry]) -> dict[int, list[int]]:
    """For each act that undoes nothing: itself, its undo, the undo of that, and so on."""
    firsts: dict[int, int] = {}
    chains: dict[int, list[int]] = defaultdict(list)
    for row in entries:
        first = firsts.get(row.undoes, row.act) if row.undoes else row.act
        firsts[row.act] = first
        chains[first].append(row.act)
    return chains


class _Played:
    """A place while its acts that stand are played again, one by one."""

    def __init__(self, balance: int) -> None:
        self.balance = balance
        self.missing: dict[int, int] = {}
        self.found: list[Found] = []
        self._newest: datetime | None = None
        self._moved = 0
        self._is_counted, self._rough = False, 0.0
        # What came since the last count: how many, on top of what, by moving how many.
        self._came: list[tuple[int, int, int]] = []

    def take(self, row: Entry, recorded: int) -> None:
        """The next act; `recorded` is what the record held after it."""
        # What came after its time moved nothing where a newer count had seen it.
        is_late = row.net == 0 and self._newest is not None and row.at < self._newest
        if row.states:
            # What a count stated is what the record held after it.
            stated = self.balance + row.net if row.counted is None else recorded
            self._count(row, self.balance if is_late else stated)
            return
        self._moved += row.moved
        if row.net > 0:
            self._came.append((row.net, recorded - row.net, row.moved))
        self.balance += row.net if is_late else row.net - row.by_difference
        if self.balance < 0:
            self.missing[row.act], self.balance = -self.balance, 0

    def _count(self, row: Entry, stated: int) -> None:
        if self._is_counted and row.reason != OPENING:
            slack = self._rough + (row.rough or 0.0)
            sure = beyond_looks(stated - self.balance, slack)
            self.found.append(self._found(row.act, sure))
        self._rough = row.rough or 0.0
        if row.counted is not None:
            self._newest = max(row.at, self._newest or row.at)
        self._is_counted, self._moved, self.balance = True, 0, stated
        self._came.clear()

    def _found(self, act: int, difference: int) -> Found:
        """What a count found, without the slip that it took back."""
        for net, held, moved in self._came:
            if is_cancelled(net, held, difference):
                return Found(act, difference + net, self._moved - moved)
        return Found(act, difference, self._moved)


def beyond_looks(difference: int, rough: float) -> int:
    """What of a difference is more than looks may be off: only that is evidence."""
    more = max(0, abs(difference) - round(rough))
    return more if difference > 0 else -more
