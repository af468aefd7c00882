"""What there is to tell on a day: levels, shelf lives and parcels, to the day."""

import re
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace

import pytest

from inventory.alerts.queries import finding
from inventory.alerts.queries.finding import findings
from inventory.catalog.actions import item_described
from inventory.catalog.rules import Description
from inventory.forecasting.queries.readiness import touched_by
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import change_bin, lot_of, open_bin
from inventory.ledger.models import LedgerCheck
from inventory.ledger.queries import Bin
from inventory.ordering.actions.placing import AskLine, place_order, supplier_called
from inventory.planning.actions import importing

pytestmark = pytest.mark.django_db
TODAY = date(2027, 3, 1)


def told(cause):
    """What a cause says today; no shortage is reckoned for it."""
    nothing = touched_by([])
    return [row.sentence for row in findings(TODAY, nothing) if row.cause == cause]


def planned(owner, now):
    """A stage on 13 March that asks for 30 of the 40 there are."""
    text = b"stage,start,assembly,callout,each\nFin,2027-03-13,Skin,AN426AD3-3.5,30\n"
    found = importing.preview(name="plan.csv", data=text)
    importing.apply(found=found, by=owner, now=now)


@pytest.mark.parametrize(
    ("keep", "said"),
    [
        (None, []),
        (40, []),
        (41, ["It holds 40 by the record and should keep 41: order at least 1."]),
    ],
)
def test_a_bin_is_under_its_keep_level_not_at_it(rivets, owner, keep, said):
    change_bin(bin=rivets, by=owner, keep_level=keep)
    assert told("keep_level") == said


@pytest.mark.parametrize(("keep", "is_told"), [(0, False), (1, True)])
def test_a_bin_that_never_held_anything_is_empty(rivets, owner, keep, is_told):
    open_bin(item=rivets.item, by=owner, number=13, keep_level=keep)
    assert bool(told("keep_level")) == is_told


@pytest.mark.parametrize(
    ("reason", "said"),
    [("", "Its record is in doubt"), ("2 more came out", "2 more came out")],
)
def test_a_bin_to_be_counted_says_why(rivets, reason, said):
    Bin.objects.update(count_it=True, count_reason=reason)
    assert told("count") == [f"{said}: count what is in it."]


@pytest.mark.parametrize(
    ("is_planned", "ends", "said"),
    [
        (False, date(2027, 2, 28), ["It is past its life."]),
        (False, TODAY, []),
        (True, date(2027, 3, 12), ["Its planned use runs to 13 Mar 2027."]),
        (True, date(2027, 3, 13), []),
    ],
)
def test_a_life_must_last_until_the_planned_use(
    rivets, owner, ask, now, is_planned, ends, said
):
    if is_planned:
        planned(owner, now)
    lot = lot_of(item=rivets.item, name="R-7", expires_on=ends)
    place = supplier_called(name="Hangar supply").place
    verbs.receive(bin=rivets, quantity=1, supplier=place, ask=ask(), lot=lot)
    assert [row.partition(" Use it")[0] for row in told("shelf_life")] == said


def test_a_size_of_temporary_fasteners_runs_short_in_the_plural(owner, now, ask):
    text = (
        b"stage,start,assembly,callout,each,hole_size,holes,operation,fasten_every,days_held\n"
        b"Fin,2027-03-13,Skin,AN426AD3-3.5,1,#40,90,full,1,2\n"
    )
    found = importing.preview(name="plan.csv", data=text)
    importing.apply(found=found, by=owner, now=now)
    what = Description("temporary_fastener", "3/32", "standard", unit="pcs")
    few = open_bin(item=item_described(what=what), by=owner, number=50)
    verbs.count(bin=few, counted=20, ask=ask())
    told = [row for row in findings(TODAY) if row.cause in ("pool", "drills")]
    assert sorted(row.title for row in told) == [
        "#40 drills run short in Fin",
        "3/32 temporary fasteners run short in Fin",
    ]
    for row in told:
        assert re.match(r"Stage Fin starts 13 Mar 2027\. Short of ", row.sentence)
        assert re.search(r"\. To be safe order \d+ (now|by)\b.*\.$", row.sentence)


def test_what_is_overdue_says_whom_it_holds_up(rivets, owner, now):
    planned(owner, now)
    place_order(
        supplier=supplier_called(name="Hangar supply"),
        asks=[AskLine(rivets.item, 2, 50)],
        placed_on=TODAY - timedelta(9),
        expected_on=TODAY - timedelta(1),
        by=owner,
    )
    (said,) = told("overdue")
    assert said.startswith(f"100 of {rivets.item.title} from Hangar supply")
    assert "expected 28 Feb 2027. Fin / Skin waits for it. Ask" in said


@pytest.mark.parametrize("found", [[], ["I1: a balance differs", "I5: a gap"]])
def test_a_record_that_does_not_add_up_is_told(db, found):
    when = datetime(2027, 2, 28, 3, 0, tzinfo=UTC)
    LedgerCheck.objects.create(pk=1, at=when, found=found)
    said = told("record")
    assert bool(said) is bool(found)
    assert all("2 of its checks failed, the first: I1" in each for each in said)


@pytest.mark.parametrize(
    ("age", "failed", "is_told"),
    [(7, "", False), (8, "", True), (1, "put the stick in", True), (None, "", False)],
)
def test_a_backup_that_failed_or_is_over_a_week_old_is_told(
    db, monkeypatch, age, failed, is_told
):
    last = None
    if age is not None:
        midday = datetime(2027, 3, 1, 12, tzinfo=UTC)
        last = SimpleNamespace(at=midday - timedelta(days=age))
    monkeypatch.setattr(finding, "last_backup", lambda _folder: last)
    monkeypatch.setattr(finding, "why_failed", lambda _folder: failed)
    said = told("backup")
    assert bool(said) is is_told
    assert not failed or "put the stick in" in said[0]
