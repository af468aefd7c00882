"""What a page makes of the answers to its scans is what the server would show it."""

import json
import subprocess
import uuid
from pathlib import Path

import pytest

from inventory.catalog.actions import item_for_callout
from inventory.config import scripts
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.queries import single_place
from inventory.planning.actions import importing
from inventory.planning.models import Assembly
from inventory.scanning.actions import Sent, bench_called, scan
from inventory.scanning.queries import bench_view
from inventory.scanning.rules.saying import Key
from inventory.trade import codes
from tests.scanning.stories import CARDS

pytestmark = [pytest.mark.slow, pytest.mark.django_db]
PLAN = """stage,assembly,callout,each
Fin,Skin,AN426AD3-3.5,30
Fin,Skin,MS20426AD3-4,12
Fin,Rib,AN426AD3-3.5,8
"""


@pytest.fixture
def bench(owner, now, rivets, ask):
    """A bench in front of two neighbours, with Skin open and Rib in the plan."""
    found = importing.preview(name="plan.csv", data=PLAN.encode())
    importing.apply(found=found, by=owner, now=now)
    longer = open_bin(item=item_for_callout(text="MS20426AD3-4"), by=owner, number=13)
    verbs.count(bin=longer, counted=25, ask=ask())
    row = bench_called(key="bench 1", person=owner, now=now)
    take(row, owner, now, sheet("Skin"))
    return row


def sheet(name):
    return codes.make("S", Assembly.objects.get(name=name).pk)


def card(name):
    return codes.make("C", CARDS[name])


def take(bench, owner, now, code):
    sent = Sent(uuid.uuid4(), code, ms=take.ms)
    take.ms += 1000
    return json.loads(
        json.dumps(scan(bench=bench, sent=sent, by=owner, now=now), default=str)
    )


take.ms = 0


def seen_by_the_page(view, answers):
    """The page's view after each answer, and whether it would ask for the rest."""
    done = subprocess.run(
        [scripts.node(), str(Path(__file__).with_name("changing.js"))],
        input=json.dumps({"view": view, "answers": answers}, default=str),
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(done.stdout)


def test_every_answer_brings_the_view_to_what_the_server_has(bench, owner, now):
    begun = bench_view(bench, now)
    answers, views = [], []
    enter, undo, redo = card(Key.ENTER), card(Key.UNDO), card(Key.REDO)
    evening = [
        *("b12", "20", enter, "b13", "b12", "5", enter, undo, redo, undo),
        *(card("return"), "b12", "3", enter, card("count"), "b13", "9", enter),
        *(card("scrap"), "b12", "2", enter, "b12", "700", enter, "nonsense", undo),
        *(card("receive"), "b13", "50", enter, card("count"), "b12", "0", enter),
    ]
    for code in evening:
        answers.append(take(bench, owner, now, code))
        views.append(json.loads(json.dumps(bench_view(bench, now), default=str)))
    folded = seen_by_the_page(begun, answers)
    for code, page, server in zip(evening, folded, views, strict=True):
        assert page["view"] == server, code
        assert not page["behind"], code
    assert len({view["newest"] for view in views}) > 9


def test_what_others_did_and_another_assembly_are_asked_for(
    bench, owner, now, rivets, ask
):
    begun = bench_view(bench, now)
    answers = [take(bench, owner, now, "b13")]
    verbs.pull(bin=rivets, quantity=4, to=single_place("unplanned"), ask=ask())
    answers.append(take(bench, owner, now, "5"))
    answers.append(take(bench, owner, now, card(Key.ENTER)))
    still = seen_by_the_page(begun, answers)
    assert [each["behind"] for each in still] == [False, True, True]
    moved_on = seen_by_the_page(
        bench_view(bench, now), [take(bench, owner, now, sheet("Rib"))]
    )
    assert [each["behind"] for each in moved_on] == [True]
