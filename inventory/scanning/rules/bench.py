"""The bench's reducer: (state, code, facts) becomes (state, outcome). Pure.

The first scan of a bin opens a movement with the quantity the assembly still asks. The
same bin again after 0.8 s, Enter, or another bin commits it; nothing commits by
time-out. What must be written stands in the outcome's `commit`.
"""

from dataclasses import asdict, dataclass, field, replace
from typing import Any

from inventory.errors import Refused
from inventory.ledger.rules import checked_quantity
from inventory.scanning.rules import reading
from inventory.scanning.rules.reading import ACTIONS, Code

REPEAT_MS = 800
REASONS = {"repair": "repair", "practice": "practice", "other": "outside the plan"}
TAKEN, STOP, NEUTRAL = "taken", "stop", "neutral"


@dataclass(frozen=True)
class Pending:
    """A movement that is being built up, not yet written."""

    bin: int
    item: int
    words: str
    quantity: int | None
    asked: int | None
    opened_ms: int
    digits: bool = False


@dataclass(frozen=True)
class State:
    """Where a bench stands."""

    assembly: int | None = None
    verb: str = "pull"
    pending: Pending | None = None
    reason: str = ""
    bit: int | None = None

    def stored(self) -> dict[str, Any]:
        """As JSON keeps it."""
        return asdict(self)

    @classmethod
    def restored(cls, data: dict[str, Any]) -> "State":
        """From JSON; an empty mapping is a fresh bench."""
        pending = data.get("pending")
        rest = {key: value for key, value in data.items() if key != "pending"}
        return cls(pending=Pending(**pending) if pending else None, **rest)


@dataclass(frozen=True)
class BinFacts:
    """What the shop knows of a scanned bin.

    `asked` is None with no assembly open. A tool is used and comes back: no drawing
    asks for it, so none is ever the wrong one to take.
    """

    number: int
    item: int
    words: str
    on_hand: int
    asked: int | None
    is_asked_for: bool
    instead: str = ""
    is_tool: bool = False


@dataclass(frozen=True)
class Facts:
    """What the reducer may know about the code it was given."""

    bin: BinFacts | None = None
    assembly_name: str = ""
    bit_words: str = ""


@dataclass(frozen=True)
class Commit:
    """What is to be written in the ledger."""

    verb: str
    bin: int = 0
    quantity: int = 0
    reason: str = ""
    bit: int = 0


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


def reduce(state: State, code: Code, facts: Facts, now_ms: int) -> Step:
    """One code at one bench. Errors: `ledger.quantity`, `scan.*`; the state stands."""
    if code.type == reading.BIN:
        return _bin(state, facts.bin, now_ms)
    if code.type == reading.ASSEMBLY:
        return _assembly(state, code.number, facts)
    if code.type in (reading.NUMBER, reading.QUANTITY):
        return _quantity(state, code)
    if code.type == reading.TOOL:
        return _bit(state, code.number, facts)
    if code.type == reading.ACTION:
        return _action(state, ACTIONS[code.number])
    raise Refused(
        "scan.unknown",
        f"'{code.text.strip()[:40]}' is no code of this shop: scan a bin, an assembly "
        "sheet or an action card.",
        {"code": code.text[:80]},
    )


def _bin(state: State, found: BinFacts | None, now_ms: int) -> Step:
    if found is None:
        raise Refused("scan.no_bin", "There is no such bin in this shop.")
    pending = state.pending
    if pending and pending.bin == found.number:
        if now_ms - pending.opened_ms < REPEAT_MS:
            return state, Outcome("ignored", NEUTRAL, "The same label again: ignored.")
        return _commit(state)
    commit = None
    if pending:
        state, outcome = _commit(state)
        commit = outcome.commit
        if commit and commit.verb == "pull" and pending.item == found.item:
            left = max(0, (found.asked or 0) - commit.quantity)
            found = replace(found, asked=left if found.is_asked_for else None)
    state, outcome = _opened(state, found, now_ms)
    return state, replace(outcome, commit=commit)


def _opened(state: State, found: BinFacts, now_ms: int) -> Step:
    proposed = found.asked if state.verb == "pull" and found.asked else None
    pending = Pending(
        found.number, found.item, found.words, proposed, found.asked, now_ms
    )
    state = replace(state, pending=pending, bit=None)
    for_assembly = state.verb == "pull" and state.assembly and not found.is_tool
    if for_assembly and not found.is_asked_for:
        return state, Outcome(
            "not_asked_for",
            STOP,
            f"STOP. This assembly does not ask for {found.words}. {found.instead}".strip(),
            loud=True,
        )
    if for_assembly and not found.asked:
        return state, Outcome(
            "all_pulled",
            STOP,
            f"All of {found.words} is pulled already for this assembly: key a quantity "
            "to pull more, or cancel.",
            loud=True,
        )
    asks = f", still asked {found.asked}" if found.asked else ""
    return state, Outcome(
        "opened",
        TAKEN,
        f"{state.verb} {found.words}: bin {found.number} holds {found.on_hand} by the "
        f"record{asks}.",
    )


def _commit(state: State) -> Step:
    pending = state.pending
    if pending is None:
        raise Refused("scan.nothing_open", "Nothing is open: scan a bin first.")
    if pending.quantity is None:
        raise Refused(
            "scan.no_quantity",
            f"How many of {pending.words}? Key the quantity, or cancel. Nothing moved.",
        )
    quantity = checked_quantity(pending.quantity, zero=state.verb == "count")
    commit = Commit(state.verb, pending.bin, quantity, REASONS.get(state.reason, ""))
    # One action card holds for one movement: a forgotten 'scrap' must not go on.
    done = replace(state, pending=None, verb="pull", reason="")
    return done, Outcome(
        "committed",
        TAKEN,
        f"{state.verb} {quantity} x {pending.words}: written.",
        commit=commit,
    )


def _assembly(state: State, number: int, facts: Facts) -> Step:
    commit = None
    if state.pending:
        state, outcome = _commit(state)
        commit = outcome.commit
    state = replace(state, assembly=number, pending=None, bit=None)
    return state, Outcome(
        "assembly", TAKEN, f"Working on {facts.assembly_name}.", commit=commit
    )


def _quantity(state: State, code: Code) -> Step:
    """A keyed number sets the quantity; a card below ten appends its digit."""
    pending = state.pending
    if pending is None:
        raise Refused("scan.nothing_open", "A quantity of what? Scan a bin first.")
    appends = code.type == reading.QUANTITY and code.number < 10
    value = code.number
    if appends and pending.digits:
        value = (pending.quantity or 0) * 10 + code.number
    zero = appends or state.verb == "count"
    shown = code.text if code.type == reading.NUMBER else value
    checked_quantity(shown, zero=zero)
    state = replace(state, pending=replace(pending, quantity=value, digits=appends))
    return state, Outcome("quantity", TAKEN, f"{value} x {pending.words}.")


def _bit(state: State, number: int, facts: Facts) -> Step:
    if state.pending:
        raise Refused(
            "scan.pending", "A bin is open: confirm or cancel it, then scan the bit."
        )
    state = replace(state, bit=number)
    return state, Outcome(
        "bit", TAKEN, f"{facts.bit_words}: fitted, dull, broken or resharpened?"
    )


def _action(state: State, action: str) -> Step:
    if action == "enter":
        return _commit(state)
    if action == "cancel":
        fresh = replace(state, pending=None, verb="pull", reason="", bit=None)
        return fresh, Outcome("cancelled", NEUTRAL, "Cancelled: nothing moved.")
    if action == "leave":
        return State(), Outcome("left", NEUTRAL, "The bench is free.")
    if action == "undo":
        fresh = replace(state, pending=None, verb="pull", reason="", bit=None)
        return fresh, Outcome(
            "undone", TAKEN, "The last entry here is taken back.", commit=Commit("undo")
        )
    if action.startswith("reason:"):
        return _reason(state, action.removeprefix("reason:"))
    if action.startswith("bit:"):
        return _bit_event(state, action.removeprefix("bit:"))
    return _verb(state, action)


def _reason(state: State, reason: str) -> Step:
    return replace(state, reason=reason), Outcome(
        "reason", TAKEN, f"Reason: {REASONS[reason]}."
    )


def _bit_event(state: State, event: str) -> Step:
    if state.bit is None:
        raise Refused("scan.no_bit", "Which bit? Scan its tag first.")
    commit = Commit(f"bit:{event}", bit=state.bit)
    return replace(state, bit=None), Outcome(
        "bit_event", TAKEN, f"Bit {state.bit}: {event}.", commit=commit
    )


def _verb(state: State, verb: str) -> Step:
    """Another verb before the quantity is written changes what will be written."""
    pending = state.pending
    if pending is not None:
        asked = pending.asked if verb == "pull" else None
        pending = replace(pending, quantity=asked, digits=False)
    state = replace(state, verb=verb, pending=pending)
    what = f" {pending.words}: how many?" if pending else ": scan a bin."
    return state, Outcome("verb", TAKEN, f"{verb}{what}")
