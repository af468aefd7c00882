"""Where a bench stands, what it is told, and what is to be written."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from inventory.forecasting.rules.bits import BitState
from inventory.ledger.rules import Verb
from inventory.ledger.rules.looking import Sight
from inventory.scanning.rules.saying import Key, PullReason

TAKEN, STOP, NEUTRAL = "taken", "stop", "neutral"

# An order that waits for an item: its number, the pieces still owed (0: it came in packs
# by a weight of which nobody knows the pieces), its supplier.
OrderRow = tuple[int, int, str]


@dataclass(frozen=True)
class Pending:
    """A movement that is being built up, not yet written.

    `keyed`: somebody keyed the quantity. `wrong`: the open assembly does not ask for it; `instead` is the item, and its
    words, that it asks for in its place. `held` and `usual` are what an unlikely
    quantity is told by; `sure`: it was asked about. `owed`, of what is received: the
    orders that wait for it, the oldest first; `order` is the one that somebody named, 0
    for none of them; `order_asked`: which one was asked.
    """

    bin: int
    item: int
    words: str
    quantity: int | None
    asked: int | None
    opened_ms: int
    digits: bool = False
    keyed: bool = False
    wrong: bool = False
    instead: int | None = None
    instead_words: str = ""
    held: int = 0
    usual: int = 0
    sure: bool = False
    owed: Sequence[OrderRow] = ()
    order: int | None = None
    order_asked: bool = False


@dataclass(frozen=True)
class State:
    """Where a bench stands. `person` is who showed a badge; empty: who signed in.

    `order`: the order whose goods are being received, bin after bin.
    """

    assembly: int | None = None
    verb: Verb = Verb.PULL
    pending: Pending | None = None
    reason: PullReason | None = None
    bit: int | None = None
    person: int | None = None
    order: int | None = None

    @property
    def usual_verb(self) -> Verb:
        """What is done with the next bin where no card says otherwise."""
        return Verb.PULL if self.order is None else Verb.RECEIVE

    def as_shown(self, quantity: int) -> "State":
        """A movement that somebody saw proposed, off line, with this quantity.

        What was on the screen was taken by hand: it stands, whatever the plan or another
        bench has changed meanwhile. A wrong tin is never proposed with a quantity.
        """
        if self.pending is None:
            return self
        pending = replace(self.pending, quantity=quantity, wrong=False)
        return replace(self, pending=pending)

    def stored(self) -> dict[str, Any]:
        """As JSON keeps it."""
        return {**asdict(self), "reason": self.reason or ""}

    @classmethod
    def restored(cls, data: dict[str, Any]) -> "State":
        """From JSON; an empty mapping is a fresh bench."""
        pending, reason = data.get("pending"), data.get("reason")
        known = {
            "pending": Pending(**pending) if pending else None,
            "verb": Verb(data.get("verb", Verb.PULL)),
            "reason": PullReason(reason) if reason else None,
        }
        return cls(**{**data, **known})


@dataclass(frozen=True)
class Commit:
    """What is to be written in the ledger.

    `order`: the order by which it came; 0 for none.
    """

    verb: Verb | Key | BitState | Sight
    bin: int = 0
    quantity: int = 0
    reason: str = ""
    bit: int = 0
    act: int = 0
    instead: int | None = None
    order: int = 0


@dataclass(frozen=True)
class Outcome:
    """What the bench says: a tone, a sentence, loud or not, and what to write."""

    kind: str
    tone: str
    sentence: str
    loud: bool = False
    commit: Commit | None = None
    data: dict[str, Any] = field(default_factory=dict)


Step = tuple[State, Outcome]
