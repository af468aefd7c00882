"""Taking a scan: reduce it, write what it commits, keep the raw code and its answer."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

from django.db import transaction

from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.forecasting.actions import fit_from_bin, happen, undo_act
from inventory.forecasting.actions.looking import look_into, what_it_leaves
from inventory.forecasting.queries.tools import bit_numbered
from inventory.forecasting.rules.bits import BitState
from inventory.ledger.actions import verbs
from inventory.ledger.actions.evidence import keep_check
from inventory.ledger.actions.once import same
from inventory.ledger.actions.posting import Ask, Done, want_all
from inventory.ledger.queries import (
    Act,
    Bin,
    Place,
    bin_numbered,
    flaws,
    last_check,
    newest_act,
    single_place,
)
from inventory.ledger.rules import ASSEMBLY, UNPLANNED, Flaw, Verb
from inventory.ledger.rules.looking import Seen, Sight
from inventory.ordering.actions.placing import supplier_called
from inventory.ordering.actions.receiving import receive
from inventory.ordering.queries import (
    how_complete,
    line_of,
    line_on,
    order_numbered,
)
from inventory.people.models import User
from inventory.planning.actions.substituting import substitute
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import CLOSED
from inventory.planning.queries import assembly_numbered
from inventory.prepared import Prepared, insert, update
from inventory.scanning.models import Bench, Scan
from inventory.scanning.queries import (
    change_view,
    facts_for,
    last_of,
    number_is_taken,
    state_of,
    state_view,
)
from inventory.scanning.queries.arrived import scan_flaws
from inventory.scanning.rules.bench import reduce
from inventory.scanning.rules.reading import read_code, scan_mark, too_long
from inventory.scanning.rules.saying import MAX_SCAN, REASONS, Key, PullReason
from inventory.scanning.rules.states import STOP, Commit, Outcome, State

NO_ORDER = "no order"
CLOSED_MEANWHILE = "The assembly was closed meanwhile"
# A scan that took longer than this to arrive is of its own time, not of now.
LATE = timedelta(seconds=5)
# A queue older than a year is a device with a broken clock. Milliseconds.
OLDEST = 365 * 86_400_000
_CALLED = Prepared(lambda key: Bench.objects.filter(key=key))
_LOCKED = Prepared(lambda pk: Bench.objects.select_for_update().filter(pk=pk))
_KNOWN = Prepared(lambda pk: Scan.objects.filter(pk=pk))


def bench_called(*, key: str, person: User, now: datetime) -> Bench:
    """The bench of this key, made at first sight; it belongs to one person."""
    row = _CALLED.first(key[:60])
    if row is None:
        row, _made = Bench.objects.get_or_create(
            key=key[:60], defaults={"person": person, "changed_at": now}
        )
    if row.person_id != person.pk:
        row.person, row.state = person, {}
        row.save(update_fields=["person", "state"])
    row.person = person
    return row


@dataclass(frozen=True)
class Sent:
    """What a device says of a scan: `ms` and `sent_ms` are its own clock's, at the scan
    and at the sending; `device` and `seq` number its scans. `shown` is the quantity
    that stood on its screen after the scan.
    """

    scan_id: UUID
    raw: str
    ms: int | None = None
    sent_ms: int | None = None
    device: str = ""
    seq: int | None = None
    shown: int | None = None

    def happened(self, now: datetime) -> datetime:
        """When it was scanned, whatever the device's clock says of the date."""
        if self.ms is None or self.sent_ms is None:
            return now
        return now - timedelta(milliseconds=min(max(0, self.sent_ms - self.ms), OLDEST))


def scan(*, bench: Bench, sent: Sent, by: User, now: datetime) -> dict[str, Any]:
    """One raw code at a bench: what it says, what changed, and how the bench stands.

    The same id again gives the same answer. `renumber`: it came under a number that its
    device had used. `newest` is the record's newest entry: who knows of an older one
    only has more to ask for than `changed`. A refusal is an answer too: kept under its
    id, with nothing moved.

    Errors: `ledger.scan_id_reused` when the id came with another code.
    """
    if len(sent.raw) > MAX_SCAN:
        raise too_long()
    mark = scan_mark(bench.key, sent.raw)
    with transaction.atomic():
        (locked,) = _LOCKED(bench.pk)
        known = _KNOWN.first(sent.scan_id)
        row = (
            _take(locked, sent, mark, by, now)
            if known is None
            else same(known, str(sent.scan_id), mark)
        )
    bench.state, bench.changed_at = locked.state, locked.changed_at
    has_no_number = bool(sent.device) and sent.seq is not None and row.seq is None
    return {
        **row.outcome,
        "renumber": has_no_number,
        "newest": newest_act(),
        "bench": state_view(bench, state_of(bench, now)),
    }


def _take(bench: Bench, sent: Sent, mark: str, by: User, now: datetime) -> Scan:
    happened = sent.happened(now)
    late = now - happened > LATE
    state = state_of(bench, happened)
    person = _person_at(state, by)
    ask = Ask(
        by=person,
        now=happened if late else now,
        scan_id=str(sent.scan_id),
        late=late,
    )
    fresh, outcome, done = _reduced(bench, state, sent, ask)
    act = done.act if done else None
    answer = {
        "kind": outcome.kind,
        "tone": outcome.tone,
        "sentence": outcome.sentence,
        "loud": outcome.loud,
        "act": act.pk if act else None,
        "data": outcome.data,
        "changed": change_view(done.act, done.movements) if done else None,
    }
    is_taken = number_is_taken(sent.device, sent.seq, sent.scan_id)
    bench.state, bench.changed_at = fresh.stored(), happened
    update(bench, "state", "changed_at")
    row = Scan(
        id=sent.scan_id,
        bench=bench,
        raw=sent.raw,
        fingerprint=mark,
        outcome=answer,
        at=now,
        happened_at=happened,
        device=sent.device,
        seq=None if is_taken else sent.seq,
        by=person,
        act=act,
    )
    insert(row)
    return row


def _person_at(state: State, by: User) -> User:
    """Who showed a badge at this bench, else who signed in."""
    if state.person is None:
        return by
    return User.objects.filter(pk=state.person, is_active=True).first() or by


def _reduced(
    bench: Bench, state: State, sent: Sent, ask: Ask
) -> tuple[State, Outcome, Done | None]:
    """The code's meaning, and what it commits written; a refusal leaves the state."""
    stamp = sent.ms if sent.ms is not None else int(ask.now.timestamp() * 1000)
    done: Done | None = None
    try:
        code = read_code(sent.raw)
        facts = facts_for(code, state, late=ask.late)
        fresh, outcome = reduce(state, code, facts, stamp)
        if ask.late and sent.shown is not None:
            fresh = fresh.as_shown(sent.shown)
        if outcome.commit:
            with transaction.atomic():  # a refusal leaves nothing half written
                done, news = _write(bench, state, outcome.commit, ask)
            outcome = _with_news(outcome, done, news)
    except Refused as error:
        data = {"code": error.code, **error.data}
        return state, Outcome("refused", STOP, error.sentence, True, data=data), None
    return fresh, outcome, done


def _with_news(outcome: Outcome, done: Done | None, news: str) -> Outcome:
    """What only the record knows: what was undone, what it did not hold."""
    loud = outcome.loud
    if done is not None and done.counted_since:
        news += " It came late, and a newer count has seen it: the count stands."
    if done is not None and done.beyond:
        loud = True
        news += (
            f" The record held {done.beyond:,} fewer: booked from the count difference. "
            f"Count {done.act.bin}."
        )
    if done is not None and done.act.verb == Verb.LOOK:
        loud = done.act.counted is not None
        news += f" {what_it_leaves(done.act)}"
    return replace(outcome, sentence=f"{outcome.sentence}{news}", loud=loud)


def _write(
    bench: Bench, state: State, commit: Commit, ask: Ask
) -> tuple[Done | None, str]:
    """What a commit means in the ledger, and what there is to say of it."""
    verb = commit.verb
    if isinstance(verb, BitState):
        happen(bit=bit_numbered(commit.bit), event=verb, by=ask.by, now=ask.now)
        return None, ""
    if isinstance(verb, Key):
        return _undo(bench, verb, commit.act, ask)
    bin = bin_numbered(commit.bin)
    if isinstance(verb, Sight):
        seen = Seen(verb, commit.quantity)
        # What is unlikely was asked about before it came here.
        return look_into(bin=bin, seen=seen, ask=ask, sure=True), ""
    done = _verb(commit, bin, state, replace(ask, reason=commit.reason))
    aside = done.act.reason.startswith(CLOSED_MEANWHILE)
    news = f" {done.act.reason}." if aside else ""
    return done, f"{news}{_of_order(done)}" if commit.verb == Verb.RECEIVE else news


def _verb(commit: Commit, bin: Bin, state: State, ask: Ask) -> Done:
    quantity = commit.quantity
    if commit.verb == Verb.COUNT:
        return verbs.count(bin=bin, counted=quantity, ask=ask)
    if commit.verb == Verb.RECEIVE:
        return _receive(bin, commit, ask)
    if commit.verb == Verb.SCRAP and state.assembly is None:
        return verbs.scrap(bin=bin, quantity=quantity, from_=bin.place, ask=ask)
    if commit.verb == Verb.PULL and bin.item.sort.one_at_a_time:
        return _fit(bin, quantity, ask)
    place, ask = _place(state, commit, ask)
    if commit.verb == Verb.PULL and commit.instead and place.kind == ASSEMBLY:
        return substitute(
            assembly=place.assembly,
            needed=Item.objects.get(pk=commit.instead),
            bin=bin,
            quantity=quantity,
            approval="",
            ask=ask,
        )
    if commit.verb == Verb.PULL:
        return verbs.pull(bin=bin, quantity=quantity, to=place, ask=ask)
    if commit.verb == Verb.RETURN:
        return verbs.give_back(bin=bin, quantity=quantity, from_=place, ask=ask)
    return verbs.scrap(bin=bin, quantity=quantity, from_=place, ask=ask)


def _receive(bin: Bin, commit: Commit, ask: Ask) -> Done:
    """Goods that came: by an order, for its line or as sent by mistake; or by none."""
    line = line_on(commit.order, bin.item_id)
    if commit.order:
        by = order_numbered(commit.order).supplier
    else:
        by = supplier_called(name=NO_ORDER)
    if commit.order and line is None:
        ask = replace(ask, reason=f"not ordered, came with order {commit.order}")
    return receive(bin=bin, supplier=by, ask=ask, pieces=commit.quantity, line=line)[0]


def _of_order(done: Done) -> str:
    """Which order a receipt was booked to, and what that still wants."""
    line = line_of(done.act)
    if line is None:
        return ""
    return f" For order {line.order.number}. {how_complete(line)}"


def _fit(bin: Bin, quantity: int, ask: Ask) -> Done:
    """A bit that leaves its bin is fitted, and gets a number of its own."""
    if quantity != 1:
        raise Refused(
            "scan.one_bit", "One bit at a time: key 1, so that each has its own record."
        )
    return fit_from_bin(bin=bin, ask=ask)[1]


def _place(state: State, commit: Commit, ask: Ask) -> tuple[Place, Ask]:
    """Where pieces go or come from: the open assembly, else 'unplanned'.

    An assembly that was closed before a late scan arrived takes no more: the pieces
    have left their bin all the same, and the reason says for what.
    """
    if state.assembly is None or commit.reason == REASONS[PullReason.ELSEWHERE]:
        return single_place(UNPLANNED), ask
    assembly = assembly_numbered(state.assembly)
    if ask.late and assembly.state == CLOSED:
        reason = f"{CLOSED_MEANWHILE}: for {assembly.name}, booked outside the plan"
        return single_place(UNPLANNED), replace(ask, reason=reason)
    return place_to_pull_for(assembly=assembly, by=ask.by, now=ask.now), ask


def _undo(bench: Bench, key: Key, number: int, ask: Ask) -> tuple[Done, str]:
    """Take back one of the bench's last acts: the one that is named, or the last."""
    act = _named(bench, number) if number else _last(bench, key)
    done = undo_act(act=act, ask=ask)
    what = f"{act.verb} of {act.bin}" if act.bin else act.verb
    return done, f" It was: {what}, {act.at:%H:%M}."


def _named(bench: Bench, number: int) -> Act:
    """An act that this bench shows: no foreign text may undo somebody else's."""
    for act in last_of(bench):
        if act.pk == number:
            return act
    raise Refused(
        "scan.not_at_this_bench",
        f"Entry {number} is none of the last at this bench: undo it where it was made, "
        "or scan the opposite.",
    )


def _last(bench: Bench, key: Key) -> Act:
    """The last act of a bench that stands; for REDO the last taking back that does.

    What was taken back and then done again stands as the act that did it again.
    """
    for act in last_of(bench):
        stands = getattr(act, "undone_by", None) is None
        if stands and _takes_back(act) == (key is Key.REDO):
            return act
    raise Refused("scan.nothing_to_undo", "Nothing of this bench is left to take back.")


def _takes_back(act: Act) -> bool:
    """Whether what an act did is gone: by an undo, or by the undo of a redo."""
    return act.undoes is not None and not _takes_back(act.undoes)


def prove(*, folder: Path, now: datetime) -> list[Flaw]:
    """Prove the whole record, scans and pictures included, and keep what was found."""
    found = [*flaws(folder), *scan_flaws()]
    before = last_check()
    if (before.found if before else []) != keep_check(found=found, now=now).found:
        want_all()  # whether there is something to tell
    return found
