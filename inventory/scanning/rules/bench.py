"""The bench's reducer: (state, code, facts) becomes (state, outcome). Pure.

The first scan of a bin opens a movement with the quantity the assembly still asks. The
same bin again after 0.8 s, Enter, or another bin commits it; nothing commits by
time-out. What must be written stands in the outcome's `commit`. A bin that the open
assembly does not ask for moves nothing until somebody says why.

`static/reducing.js` is the same reducer for a bench that is off line; both pass one table.
"""

from dataclasses import replace

from inventory.errors import Refused
from inventory.forecasting.rules.bits import BitState
from inventory.ledger.rules import Verb, checked_quantity, is_unlikely
from inventory.ledger.rules.looking import Sight
from inventory.scanning.rules import reading
from inventory.scanning.rules.facts import BinFacts, Facts
from inventory.scanning.rules.looking import is_unlikely_few, noted, unlikely_few
from inventory.scanning.rules.quantities import asked_then, keyed, unlikely
from inventory.scanning.rules.reading import Code
from inventory.scanning.rules.receiving import (
    is_not_on_order,
    must_say_which,
    not_on_order,
    order_named,
    order_of,
    owed_then,
    waiting,
    which_order,
)
from inventory.scanning.rules.saying import (
    ACTIONS,
    DONE,
    ELSEWHERE,
    REASONS,
    REPEAT_MS,
    Action,
    Key,
    PullReason,
    say,
)
from inventory.scanning.rules.states import (
    NEUTRAL,
    STOP,
    TAKEN,
    Commit,
    Outcome,
    Pending,
    State,
    Step,
)


def reduce(state: State, code: Code, facts: Facts, now_ms: int) -> Step:
    """One code at one bench. Errors: `ledger.quantity`, `scan.*`; the state stands."""
    if facts.bin:
        return _bin(state, facts.bin, now_ms)
    if code.type in (reading.NUMBER, reading.QUANTITY):
        return keyed(state, code)
    if code.type in _LABELS:
        return _LABELS[code.type](state, code.number, facts)
    if code.type == reading.ACTION:
        return _action(state, ACTIONS[code.number], facts)
    if code.type == reading.UNDO:
        return _taken_back(state, Commit(Key.UNDO, act=code.number), "that_entry")
    raise _no_code_for_a_bench(code)


def _no_code_for_a_bench(code: Code) -> Refused:
    """What to say of a label that is opened elsewhere, and of what is no code of ours."""
    if code.type in ELSEWHERE:
        return Refused(
            "scan.elsewhere",
            say("elsewhere", what=ELSEWHERE[code.type]),
        )
    return Refused(
        "scan.unknown",
        say("unknown", text=code.text.strip()[:40]),
        {"text": code.text[:80]},
    )


def _bin(state: State, found: BinFacts, now_ms: int) -> Step:
    pending = state.pending
    if pending and pending.bin == found.number:
        if now_ms - pending.opened_ms < REPEAT_MS:
            return state, Outcome("ignored", NEUTRAL, say("repeat"))
        return _commit(state)
    state, before = _settled(state)
    if before and state.pending:
        return state, before
    is_same = pending is not None and pending.item == found.item
    commit = before.commit if before and is_same else None
    found = replace(
        found,
        asked=asked_then(found, commit),
        owed=owed_then(found.owed, state, commit),
    )
    return _joined(before, _opened(state, found, now_ms))


def _settled(state: State) -> tuple[State, Outcome | None]:
    """What is open is committed before the next begins; a wrong tin is put back."""
    pending = state.pending
    if pending is None:
        return state, None
    if _lacks_reason(state):
        fresh = replace(state, pending=None)
        said = say("put_back", number=pending.bin)
        return fresh, Outcome("cancelled", NEUTRAL, said)
    return _commit(state)


def _joined(before: Outcome | None, step: Step) -> Step:
    """One answer to a code that also ended what was open before it."""
    if before is None:
        return step
    state, outcome = step
    said = f"{before.sentence} {outcome.sentence}"
    return state, replace(outcome, commit=before.commit, sentence=said)


def _opened(state: State, found: BinFacts, now_ms: int) -> Step:
    proposed = found.asked if state.verb == Verb.PULL and found.asked else None
    for_assembly = state.assembly is not None and not found.is_tool
    wrong = for_assembly and not found.is_asked_for
    pending = Pending(
        found.number,
        found.item,
        found.words,
        proposed,
        found.asked,
        now_ms,
        wrong=wrong,
        instead=found.instead.item if wrong and found.instead else None,
        instead_words=found.instead.words if wrong and found.instead else "",
        held=found.on_hand,
        usual=max(found.usual, found.asked or 0),
        owed=found.owed,
        order=state.order if state.verb == Verb.RECEIVE else None,
    )
    state = replace(state, pending=pending, bit=None)
    if state.verb == Verb.PULL and wrong:
        return state, _wrong_tin(found)
    if state.verb == Verb.PULL and for_assembly and not found.asked:
        return state, Outcome(
            "all_pulled",
            STOP,
            say("all_pulled", words=found.words),
            loud=True,
        )
    if is_not_on_order(pending):
        return state, not_on_order(pending)
    minded = found.mind and state.verb == Verb.PULL
    said = say(
        "opened",
        verb=state.verb,
        words=found.words,
        number=found.number,
        held=found.on_hand,
        asks=say("still_asked", asked=found.asked) if found.asked else "",
        orders=waiting(pending),
        mind=say("mind", mind=found.mind) if minded else "",
        cold=f" {found.cold}" if found.cold and state.verb == Verb.PULL else "",
    )
    return state, Outcome("opened", TAKEN, said)


def _wrong_tin(found: BinFacts) -> Outcome:
    """Loud, in words, and with the two items to be drawn side by side."""
    other = found.instead
    if other is None:
        said = say("not_asked_for", words=found.words)
        return Outcome("not_asked_for", STOP, said, loud=True)
    said = say(
        "look_alike_asked_for",
        words=found.words,
        differs=other.differs,
        asked=other.words,
        where=f", {other.where}" if other.where else "",
    )
    return Outcome(
        "not_asked_for",
        STOP,
        said,
        loud=True,
        data={"this": found.item, "asked": other.item, "differs": other.differs},
    )


def _lacks_reason(state: State) -> bool:
    """Whether a wrong tin is open and nobody said why."""
    pending = state.pending
    wrong = pending is not None and pending.wrong and state.verb == Verb.PULL
    return wrong and not state.reason


def _commit(state: State) -> Step:
    pending = state.pending
    if pending is None:
        raise Refused("scan.nothing_open", say("nothing_open"))
    if _lacks_reason(state):
        raise Refused(
            "scan.reason_needed",
            say("say_why"),
        )
    if pending.quantity is None:
        raise Refused(
            "scan.no_quantity",
            say("how_many", words=pending.words),
        )
    quantity = checked_quantity(pending.quantity, zero=state.verb == Verb.COUNT)
    is_odd = is_unlikely(state.verb, quantity, pending.held, pending.usual)
    if is_odd and not pending.sure:
        return replace(state, pending=replace(pending, sure=True)), unlikely(pending)
    if state.verb == Verb.LOOK:
        return _afresh(state), noted(pending, Sight.ABOUT)
    receives = state.verb == Verb.RECEIVE
    if receives and must_say_which(pending):
        asked = replace(pending, order_asked=True)
        return replace(state, pending=asked), which_order(pending)
    commit = Commit(
        state.verb,
        pending.bin,
        quantity,
        REASONS[state.reason] if state.reason else "",
        instead=pending.instead if state.reason == PullReason.INSTEAD else None,
        order=order_of(pending) if receives else 0,
    )
    fresh = _afresh(state)
    said = say(
        "committed", done=DONE[state.verb], quantity=quantity, words=pending.words
    )
    return fresh, Outcome("committed", TAKEN, said, commit=commit)


def _afresh(state: State) -> State:
    """With nothing open. One action card holds for one movement: a forgotten 'scrap'
    must not go on. An order's sheet holds until the order is left."""
    return replace(state, pending=None, verb=state.usual_verb, reason=None, bit=None)


def _assembly(state: State, number: int, facts: Facts) -> Step:
    state, before = _settled(state)
    if before and state.pending:
        return state, before
    if state.order is not None:
        state = replace(state, order=None, verb=Verb.PULL)
    state = replace(state, assembly=number, pending=None, bit=None)
    now = Outcome("assembly", TAKEN, say("assembly", name=facts.assembly_name))
    return _joined(before, (state, now))


def _person(state: State, number: int, facts: Facts) -> Step:
    if state.pending:
        raise Refused("scan.pending", say("then_the_badge"))
    state = replace(state, person=number)
    return state, Outcome("person", TAKEN, say("person", name=facts.person))


def _bit(state: State, number: int, facts: Facts) -> Step:
    if state.pending:
        raise Refused("scan.pending", say("then_the_bit"))
    state = replace(state, bit=number)
    return state, Outcome("bit", TAKEN, say("bit", words=facts.bit_words))


def _action(state: State, action: Action, facts: Facts) -> Step:
    if isinstance(action, PullReason):
        return _reason(state, action)
    if isinstance(action, BitState):
        return _bit_event(state, action)
    if isinstance(action, Sight):
        return _sight(state, action)
    if isinstance(action, Verb):
        return _verb(state, action, facts)
    return _key(state, action)


def _sight(state: State, sight: Sight) -> Step:
    """What was seen is noted at once: nothing moves, so no reason is wanted.

    Who sees a bin empty has counted it.
    """
    if state.pending is None:
        raise Refused("scan.nothing_open", say("nothing_open"))
    if sight is Sight.EMPTY:
        empty = replace(state.pending, quantity=0)
        return _commit(replace(state, verb=Verb.COUNT, pending=empty))
    if is_unlikely_few(state.pending, sight):
        asked = replace(state.pending, sure=True)
        return replace(state, pending=asked), unlikely_few(state.pending)
    return _afresh(state), noted(state.pending, sight)


def _key(state: State, key: Key) -> Step:
    if key is Key.ENTER:
        return _commit(state)
    if key is Key.CANCEL:
        # With nothing begun, the order in hand is left.
        fresh = _afresh(state if state.pending else replace(state, order=None))
        return fresh, Outcome("cancelled", NEUTRAL, say("cancelled"))
    if key is Key.LEAVE:
        return State(), Outcome("left", NEUTRAL, say("left"))
    what = "last_entry" if key is Key.UNDO else "last_undo"
    return _taken_back(state, Commit(key), what)


def _taken_back(state: State, commit: Commit, what: str) -> Step:
    """Whatever is open is dropped: it was not written, so there is nothing to undo."""
    return _afresh(state), Outcome("undone", TAKEN, say(what), commit=commit)


def _reason(state: State, reason: PullReason) -> Step:
    pending = state.pending
    if reason is PullReason.INSTEAD and (pending is None or pending.instead is None):
        raise Refused(
            "scan.instead_of_what",
            say("instead_of_what"),
        )
    instead = ask = ""
    if reason is PullReason.INSTEAD and pending:
        instead = say("reason_instead", words=pending.instead_words)
    if pending and pending.quantity is None:
        ask = say("reason_ask", words=pending.words)
    said = say("reason", reason=REASONS[reason], instead=instead, ask=ask)
    return replace(state, reason=reason), Outcome("reason", TAKEN, said)


def _bit_event(state: State, event: BitState) -> Step:
    if state.bit is None:
        raise Refused("scan.no_bit", say("which_bit"))
    commit = Commit(event, bit=state.bit)
    return replace(state, bit=None), Outcome(
        "bit_event",
        TAKEN,
        say("bit_event", number=state.bit, event=event),
        commit=commit,
    )


def _verb(state: State, verb: Verb, facts: Facts) -> Step:
    """Another verb before the quantity is written changes what will be written.

    'Look' after a number that was keyed says that it is about so many.
    """
    pending = state.pending
    if verb is Verb.LOOK and pending is not None and pending.keyed:
        return _commit(replace(state, verb=verb))
    receives = verb is Verb.RECEIVE
    if pending is not None:
        asked = pending.asked if verb is Verb.PULL else None
        pending = replace(
            pending,
            quantity=asked,
            digits=False,
            keyed=False,
            sure=False,
            owed=facts.owed if receives else (),
            order=state.order if receives else None,
            order_asked=False,
        )
    order = state.order if receives else None
    state = replace(state, verb=verb, pending=pending, order=order)
    said = say("verb", verb=verb)
    if pending:
        said = say(
            "verb_how_many", verb=verb, words=pending.words, orders=waiting(pending)
        )
    return state, Outcome("verb", TAKEN, said)


_LABELS = {
    reading.ASSEMBLY: _assembly,
    reading.ORDER: order_named,
    reading.TOOL: _bit,
    reading.PERSON: _person,
}
