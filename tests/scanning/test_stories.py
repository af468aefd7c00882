"""The table of stories, told to the server, and to the device's twin in Node and browser."""

import json
import random
import subprocess
import uuid
from datetime import timedelta
from pathlib import Path

import pytest
from django.db import transaction
from django.utils import timezone

from inventory.config import scripts
from inventory.forecasting.actions import fit_from_bin
from inventory.ledger import queries as ledger
from inventory.ledger.actions import verbs
from inventory.ledger.actions.posting import Ask
from inventory.ledger.models import Act
from inventory.ledger.queries import Bin
from inventory.ledger.rules import Verb
from inventory.planning.actions.working import close, place_to_pull_for
from inventory.planning.models import Assembly
from inventory.scanning.actions import Sent, bench_called, scan
from inventory.scanning.queries import facts_for, whole_shop
from inventory.scanning.rules.facts import facts_in
from inventory.scanning.rules.reading import read_code
from inventory.scanning.rules.states import State
from tests.browser import open_page
from tests.scanning.stories import CARDS, STORIES, code_of, furnish

pytestmark = pytest.mark.django_db
START_MS = 1_900_000_000_000


@pytest.fixture
def shop(owner, ask, now):
    """The stories' shop, with one bit in use."""
    furnish(owner, ask, now)
    ask = Ask(by=owner, now=now)
    fit_from_bin(bin=ledger.bin_numbered(30), ask=ask)


def told(owner, steps, key="bench"):
    """What the server answers to a story, step by step, with its state after."""
    bench = bench_called(key=key, person=owner, now=timezone.now())
    ms = START_MS
    for step, pause in steps:
        ms += pause
        sent = Sent(scan_id=uuid.uuid4(), raw=code_of(step), ms=ms, sent_ms=ms)
        answer = scan(bench=bench, sent=sent, by=owner, now=timezone.now())
        bench.refresh_from_db()
        yield answer, bench.state


@pytest.mark.unmeasured
@pytest.mark.slow
@pytest.mark.parametrize("name", STORIES)
def test_the_server_tells_it(shop, owner, name):
    steps, expected = STORIES[name]
    said = [
        (answer["kind"], answer["tone"], answer["loud"])
        for answer, _state in told(owner, steps)
    ]
    assert said == expected
    assert ledger.flaws() == []


@pytest.mark.slow
def test_the_words_say_what_differs_and_where_the_right_one_is(shop, owner):
    steps = [("sheet", 0), ("bin 14", 900)]
    answer = list(told(owner, steps))[-1][0]
    assert "This one is half a length longer." in answer["sentence"]
    assert "It asks for 3/32 flush, 7/32 long" in answer["sentence"]
    assert "bin 12, rack 0" in answer["sentence"]
    assert answer["data"]["differs"] == "half a length longer"


@pytest.mark.slow
def test_look_alikes_are_named_even_when_it_is_right(shop, owner):
    answer = list(told(owner, [("sheet", 0), ("bin 12", 900)]))[-1][0]
    assert "bin 13 is half a length shorter" in answer["sentence"]
    assert "bin 14 is half a length longer" in answer["sentence"]
    assert "bin 15 is soft alloy (A), not alloy AD" in answer["sentence"]


@pytest.mark.slow
def test_what_stands_in_meets_the_other_ones_need(shop, owner):
    steps, _expected = STORIES["half a length up stands in"]
    answers = list(told(owner, steps))
    assert "still asked 26" in answers[-1][0]["sentence"]
    assert ledger.quantity_in(ledger.bin_numbered(14)) == 96
    assert ledger.quantity_in(ledger.bin_numbered(12)) == 40


@pytest.mark.slow
def test_what_is_seen_is_weighed_against_the_record(shop, owner):
    steps = [("bin 13", 0), ("card plenty", 900), ("bin 13", 900), ("card few", 900)]
    _open, agrees, _again, contradicts = list(told(owner, steps))
    assert agrees[0]["sentence"] == (
        "Looked into bin 13: plenty. 3/32 flush, 3/16 long (MS20426AD3-3). That agrees "
        "with the record."
    )
    assert ledger.quantity_in(ledger.bin_numbered(13)) == 12
    assert contradicts[0]["loud"]
    assert contradicts[0]["changed"]["bins"] == {"13": 12}
    said = "The record said otherwise: the bin is taken to hold 12, give or take 7."
    assert said in contradicts[0]["sentence"]
    assert contradicts[0]["changed"]["line"]["reason"] == "nearly empty"


@pytest.mark.slow
def test_nearly_empty_by_a_slip_is_asked_about_and_said_twice_is_believed(
    shop, owner, ask
):
    verbs.count(bin=ledger.bin_numbered(13), counted=400, ask=ask())
    steps = [("bin 13", 0), ("card few", 900), ("card few", 900)]
    _open, asked, said = [answer for answer, _state in told(owner, steps)]
    assert (asked["kind"], asked["act"]) == ("unlikely", None)
    assert "Nearly empty? Bin 13 holds 400 by the record." in asked["sentence"]
    assert said["kind"] == "noted"
    assert ledger.quantity_in(ledger.bin_numbered(13)) == 12


@pytest.mark.slow
def test_a_number_far_off_is_asked_about_and_then_still_a_look(shop, owner):
    steps = [
        *[("bin 12", 0), ("9000", 900), ("card look", 900), ("card enter", 900)],
        ("card undo", 900),
    ]
    *_first, asked, taken, undone = [answer for answer, _state in told(owner, steps)]
    assert (asked["kind"], asked["act"]) == ("unlikely", None)
    assert (taken["kind"], taken["loud"]) == ("noted", True)
    assert Act.objects.get(pk=taken["act"]).verb == Verb.LOOK
    assert undone["changed"]["bins"] == {"12": 40}


@pytest.mark.slow
def test_a_badge_makes_the_act_somebody_elses(shop, owner):
    steps = [("badge", 0), ("bin 12", 900), ("4", 900), ("card enter", 900)]
    list(told(owner, steps))
    assert str(Act.objects.latest("pk").by) == "Ondine"


@pytest.mark.slow
def test_the_whole_shop_and_a_scans_part_of_it_say_the_same(shop):
    whole = whole_shop()
    skin = read_code(code_of("sheet")).number
    for number in (12, 13, 14, 15, 16, 20, 30, 31):
        code = read_code(code_of(f"bin {number}"))
        for assembly in (None, skin):
            verb = Verb.PULL if assembly else Verb.RECEIVE
            state = State(assembly=assembly, verb=verb)
            assert facts_in(whole, code, state) == facts_for(code, state)


TWIN = """async ({shop, stories}) => {
  const { Twin } = await import("/static/twin.js");
  return stories.map((steps) => {
    const twin = new Twin(shop);
    return steps.map(([code, ms]) => {
      const said = twin.take(code, ms);
      return [said.kind, said.tone, said.loud, said.sentence, structuredClone(twin.state)];
    });
  });
}"""


def coded(steps):
    """A story as a device hears it: each code with its time."""
    ms, heard = START_MS, []
    for step, pause in steps:
        ms += pause
        heard.append([code_of(step), ms])
    return heard


def heard_in_node(shop, stories):
    """What the twin says to stories, told without a browser."""
    sent = json.dumps({"shop": shop, "stories": [coded(steps) for steps in stories]})
    done = subprocess.run(
        [scripts.node(), str(Path(__file__).with_name("twin.js"))],
        input=sent,
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(done.stdout)


def heard_in_a_browser(page, shop, stories):
    """What the twin says to stories, told on the bench's own page."""
    told_to = {"shop": shop, "stories": [coded(steps) for steps in stories]}
    return page.evaluate(TWIN, told_to)


def heard_by_the_server(owner, steps, key):
    """What the server says to a story, which is taken back."""
    with transaction.atomic():
        server = list(told(owner, steps, key))
        transaction.set_rollback(True)
    return server


def same(here, there):
    """Whether the device said what the server says, save what only the record knows."""
    kind, tone, _loud, sentence, state = here
    answer, kept = there
    assert (kind, tone) == (answer["kind"], answer["tone"])
    assert answer["sentence"].startswith(sentence)
    assert state == kept


def as_the_table_says(owner, told_here):
    """Whether the device said what the table and the server say to every story."""
    for here, (name, (steps, expected)) in zip(told_here, STORIES.items(), strict=True):
        assert [tuple(said[:3]) for said in here] == expected, name
        server = heard_by_the_server(owner, steps, name)
        for said, there in zip(here, server, strict=True):
            same(said, there)


def table():
    return [steps for steps, _expected in STORIES.values()]


@pytest.mark.slow
def test_the_twin_says_what_the_server_says(owner, shop):
    as_the_table_says(owner, heard_in_node(whole_shop(), table()))


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_the_twin_says_it_in_a_browser(live_server, owner, shop):
    with open_page(live_server, owner) as page:
        page.goto(f"{live_server.url}/bench/")
        as_the_table_says(owner, heard_in_a_browser(page, whole_shop(), table()))


WORDS = [
    *("sheet", "badge", "3", "12", "0", "quantity 4", "quantity 20", "bit 1"),
    *(f"bin {number}" for number in (12, 13, 14, 15, 16, 20, 31)),
    *(f"card {name}" for name in CARDS if name not in ("undo", "redo")),
    *("XB0012", "rubbish", "order 1", "order 2", "no order"),
]


@pytest.mark.slow
def test_the_twin_keeps_up_with_any_evening(owner, shop):
    """Codes in no order at all, until the record alone knows better (a pull beyond it)."""
    chance = random.Random(11)
    evenings = [
        [("sheet", 0)]
        + [(chance.choice(WORDS), chance.choice((300, 900))) for _step in range(14)]
        for _evening in range(25)
    ]
    compared = 0
    heard = heard_in_node(whole_shop(), evenings)
    for number, (twin, steps) in enumerate(zip(heard, evenings, strict=True)):
        server = heard_by_the_server(owner, steps, f"any {number}")
        for here, there in zip(twin, server, strict=True):
            if there[0]["loud"] and there[0]["tone"] == "taken":
                break
            same(here, there)
            compared += 1
    assert compared > 200


def later(owner, steps, hours, shown=(), key="phone"):
    """A story told off line, whose scans arrive together so many hours after."""
    seen = dict(shown)
    bench = bench_called(key=key, person=owner, now=timezone.now())
    ms = START_MS
    for at, (step, pause) in enumerate(steps):
        ms += pause
        sent = Sent(
            scan_id=uuid.uuid4(),
            raw=code_of(step),
            ms=ms,
            shown=seen.get(at),
            sent_ms=START_MS + hours * 3_600_000,
        )
        yield scan(bench=bench, sent=sent, by=owner, now=timezone.now())
        bench.refresh_from_db()


@pytest.fixture
def counted_before(shop):
    """The bins were counted before anybody scanned, so no count has seen the pulls."""
    Bin.objects.update(counted_at=timezone.now() - timedelta(days=30))


@pytest.mark.slow
def test_scans_that_waited_all_night_still_belong_together(shop, owner):
    """The bench is idle by the scans' own times, not by when they arrive."""
    steps = [("sheet", 0), ("bin 12", 900), ("bin 12", 900)]
    *_before, done = later(owner, steps, hours=9)
    assert done["kind"] == "committed"
    skin = Assembly.objects.get(name="Skin")
    assert ledger.quantities_at([skin.place_id])[skin.place_id, _item(12)] == 30


@pytest.mark.slow
def test_what_stood_in_for_a_closed_assembly_is_not_lost(counted_before, owner, now):
    steps, _expected = STORIES["half a length up stands in"]
    skin = Assembly.objects.get(name="Skin")
    place_to_pull_for(assembly=skin, by=owner, now=now)
    close(assembly=skin, by=owner, now=now)
    told_late = list(later(owner, steps[:5], hours=3))
    assert told_late[-1]["kind"] == "committed"
    assert "closed meanwhile" in told_late[-1]["sentence"]
    assert ledger.quantity_in(ledger.bin_numbered(14)) == 96


@pytest.mark.slow
@pytest.mark.parametrize("meanwhile", ["closed", "pulled", "no longer asked"])
def test_what_was_seen_and_taken_off_line_stands(
    counted_before, owner, now, ask, meanwhile
):
    """Thirty were on the screen and are in the hand, whatever became of the plan."""
    skin = Assembly.objects.get(name="Skin")
    place = place_to_pull_for(assembly=skin, by=owner, now=now)
    if meanwhile == "closed":
        close(assembly=skin, by=owner, now=now)
    elif meanwhile == "pulled":
        verbs.pull(bin=ledger.bin_numbered(12), quantity=20, to=place, ask=ask())
    else:
        skin.needs.filter(item=_item(12)).delete()
    before = ledger.quantity_in(ledger.bin_numbered(12))
    steps = [("sheet", 0), ("bin 12", 900), ("bin 12", 900)]
    *_first, done = later(owner, steps, hours=3, shown={1: 30})
    assert (done["kind"], done["sentence"][:9]) == ("committed", "Pulled 30")
    assert ledger.quantity_in(ledger.bin_numbered(12)) == max(0, before - 30)
    assert ledger.flaws() == []


@pytest.mark.slow
def test_no_text_undoes_what_another_bench_did(shop, owner):
    steps = [("bin 12", 0), ("7", 900), ("bin 12", 900)]
    act = list(told(owner, steps))[-1][0]["act"]
    refused = next(told(owner, [(f"undo {act}", 0)], key="elsewhere"))[0]
    assert refused["data"]["code"] == "scan.not_at_this_bench"
    here = next(told(owner, [(f"undo {act}", 0)]))[0]
    assert here["kind"] == "undone"


def _item(number):
    return ledger.bin_numbered(number).item_id
