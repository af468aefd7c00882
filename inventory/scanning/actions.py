"""Taking a scan: reduce it, write what it commits, keep the raw code and its answer."""

from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from inventory.errors import Refused
from inventory.forecasting.actions import fit_from_bin, happen
from inventory.forecasting.queries.tools import bit_numbered
from inventory.ledger.actions import verbs
from inventory.ledger.actions.posting import Ask, Done
from inventory.ledger.queries import Act, Bin, Place, bin_numbered, single_place
from inventory.ledger.rules import fingerprint
from inventory.people.models import User
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.queries import assembly_numbered
from inventory.scanning.models import Bench, Scan
from inventory.scanning.queries import facts_for, last_of, state_of
from inventory.scanning.rules import reading
from inventory.scanning.rules.bench import STOP, Commit, Outcome, State, reduce
from inventory.scanning.rules.reading import read_code
from inventory.supply.actions.ordering import supplier_called
from inventory.supply.actions.receiving import receive

NO_ORDER = "no order"


def bench_called(*, key: str, person: User, now: datetime) -> Bench:
    """The bench of this key, made at first sight; it belongs to one person."""
    row, made = Bench.objects.get_or_create(
        key=key[:60], defaults={"person": person, "changed_at": now}
    )
    if not made and row.person_id != person.pk:
        row.person, row.state = person, {}
        row.save(update_fields=["person", "state"])
    return row


def scan(
    *,
    bench: Bench,
    scan_id: UUID,
    raw: str,
    by: User,
    now: datetime,
    ms: int | None = None,
) -> dict[str, Any]:
    """One raw code at a bench; the same id again gives the same answer.

    A refusal is an answer too: kept under its id, with nothing moved. Errors:
    `ledger.scan_id_reused` when the id came with another code.
    """
    if len(raw) > reading.MAX_SCAN:
        raise Refused(
            "scan.long",
            f"That is more than {reading.MAX_SCAN} characters: scan one label.",
        )
    mark = fingerprint({"bench": bench.key, "raw": raw})
    try:
        with transaction.atomic():
            held = Bench.objects.select_for_update().get(pk=bench.pk)
            known = Scan.objects.filter(pk=scan_id).first()
            if known is None:
                return _take(held, scan_id, (raw, mark), by, (now, ms))
    except IntegrityError:
        known = Scan.objects.filter(pk=scan_id).first()
        if known is None:
            raise
    if known.fingerprint != mark:
        raise Refused(
            "ledger.scan_id_reused",
            "This id was used for another code already: nothing moved. Scan again.",
            {"scan_id": str(scan_id)},
        )
    return dict(known.outcome)


def _take(
    bench: Bench,
    scan_id: UUID,
    text: tuple[str, str],
    by: User,
    time: tuple[datetime, int | None],
) -> dict[str, Any]:
    now, ms = time
    ask = Ask(by=by, now=now, scan_id=str(scan_id))
    state = state_of(bench, now)
    stamp = ms if ms is not None else int(now.timestamp() * 1000)
    act: Act | None = None
    try:
        with transaction.atomic():
            code = read_code(text[0])
            fresh, outcome = reduce(state, code, facts_for(code, state), stamp)
            if outcome.commit:
                done, said = _write(bench, state, outcome.commit, ask)
                act = done.act if done else None
                outcome = _with_news(outcome, done, said)
    except Refused as error:
        fresh = state
        outcome = Outcome(
            "refused",
            STOP,
            error.sentence,
            loud=True,
            data={"code": error.code, **error.data},
        )
    answer = {
        "kind": outcome.kind,
        "tone": outcome.tone,
        "sentence": outcome.sentence,
        "loud": outcome.loud,
        "act": act.pk if act else None,
        "data": outcome.data,
    }
    bench.state, bench.changed_at = fresh.stored(), now
    bench.save(update_fields=["state", "changed_at"])
    Scan.objects.create(
        id=scan_id,
        bench=bench,
        raw=text[0],
        fingerprint=text[1],
        outcome=answer,
        at=now,
        by=by,
        act=act,
    )
    return answer


def _with_news(outcome: Outcome, done: Done | None, said: str) -> Outcome:
    """What was written, when the code meant something else too; and what is news."""
    if outcome.kind != "committed":
        outcome = replace(outcome, sentence=f"{said} {outcome.sentence}".strip())
    if done is None or not done.beyond:
        return outcome
    news = (
        f"The record held {done.beyond} fewer: booked from the count difference. "
        f"Count {done.act.bin}."
    )
    return replace(outcome, sentence=f"{outcome.sentence} {news}", loud=True)


def _write(
    bench: Bench, state: State, commit: Commit, ask: Ask
) -> tuple[Done | None, str]:
    """What a commit means in the ledger, and what was written in words."""
    if commit.verb.startswith("bit:"):
        event = commit.verb.removeprefix("bit:")
        happen(bit=bit_numbered(commit.bit), event=event, by=ask.by, now=ask.now)
        return None, ""
    if commit.verb == "undo":
        return _undo(bench, ask)
    bin = bin_numbered(commit.bin)
    ask = replace(ask, reason=commit.reason)
    done = _verb(commit, bin, state, ask)
    return done, f"{commit.verb} {commit.quantity} x {bin.item.words}: written."


def _verb(commit: Commit, bin: Bin, state: State, ask: Ask) -> Done:
    quantity = commit.quantity
    if commit.verb == "count":
        return verbs.count(bin=bin, counted=quantity, ask=ask)
    if commit.verb == "receive":
        supplier = supplier_called(name=NO_ORDER)
        return receive(bin=bin, supplier=supplier, ask=ask, pieces=quantity)[0]
    if commit.verb == "scrap" and state.assembly is None:
        return verbs.scrap(bin=bin, quantity=quantity, from_=bin.place, ask=ask)
    if commit.verb == "pull" and bin.item.kind == "drill":
        return _fit(bin, quantity, ask)
    place = _place(state, ask)
    if commit.verb == "pull":
        return verbs.pull(bin=bin, quantity=quantity, to=place, ask=ask)
    if commit.verb == "return":
        return verbs.give_back(bin=bin, quantity=quantity, from_=place, ask=ask)
    return verbs.scrap(bin=bin, quantity=quantity, from_=place, ask=ask)


def _fit(bin: Bin, quantity: int, ask: Ask) -> Done:
    """A bit that leaves its bin is fitted, and gets a number of its own."""
    if quantity != 1:
        raise Refused(
            "scan.one_bit", "One bit at a time: key 1, so that each has its own record."
        )
    return fit_from_bin(bin=bin, ask=ask)[1]


def _place(state: State, ask: Ask) -> Place:
    """Where pieces go or come from: the open assembly, else 'unplanned'."""
    if state.assembly is None:
        return single_place("unplanned")
    return place_to_pull_for(
        assembly=assembly_numbered(state.assembly), by=ask.by, now=ask.now
    )


def _undo(bench: Bench, ask: Ask) -> tuple[Done, str]:
    """Take back the bench's last act that stands."""
    for act in last_of(bench):
        if getattr(act, "undone_by", None) is None and act.undoes is None:
            done = verbs.undo(act=act, ask=ask)
            return done, f"{act.verb} of {act.bin}:"
    raise Refused("scan.nothing_to_undo", "Nothing of this bench is left to take back.")
