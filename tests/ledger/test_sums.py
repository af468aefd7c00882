"""What movements add up to is the same, however much of it was kept already."""

import random
import uuid
from collections import defaultdict

import pytest
from django.db import connection
from django.utils.timezone import localdate

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.rules import HOLDING, ONE_AT_A_TIME, described
from inventory.ledger import queries, rules
from inventory.ledger.actions import bins, mending, summing, undoing, verbs
from inventory.ledger.actions.posting import Ask
from inventory.ledger.actions.summing import keep_sums
from inventory.ledger.models import Act, KeptSum, Movement
from inventory.ledger.queries.sums import summed, summed_upto
from inventory.ledger.rules import Figure, Verb
from inventory.people.models import User
from tests.parallel import in_parallel

pytestmark = pytest.mark.slow
FIGURES = set(Figure) - {Figure.UPTO}


@pytest.fixture
def story(owner, ask, now):
    """One act after the other: all that people do, and undo, and do again."""
    dice, helper = random.Random(3), User.objects.create(username="ada")
    rivet, holder = (
        item_for_callout(text="MS20426AD3-3.5"),
        item_described(what=described("temporary fastener", size="3/32")),
    )
    tins = [bins.open_bin(item=item, by=owner) for item in (rivet, rivet, holder)]
    works = [bins.open_place(kind="assembly", name=name) for name in "ab"]
    verbs.count(bin=tins[0], counted=400, ask=ask(reason=rules.OPENING))

    def step():
        by, bin, work = (
            dice.choice((owner, helper)),
            dice.choice(tins),
            dice.choice(works),
        )
        asked = Ask(by, now, str(uuid.uuid4()))
        held = queries.quantities_at([work.pk]).get((work.pk, bin.item_id), 0)
        other = tins[1] if bin is tins[0] else tins[0]
        undone = Act.objects.filter(undone_by=None).order_by("?").first()
        deeds = {
            "pull": lambda: verbs.pull(bin=bin, quantity=7, to=work, ask=asked),
            "count": lambda: verbs.count(
                bin=bin, counted=dice.randint(0, 60), ask=asked
            ),
            "undo": lambda: undone and undoing.undo(act=undone, ask=asked),
            "scrap": lambda: (
                held and verbs.scrap(bin=bin, quantity=1, from_=work, ask=asked)
            ),
            "return": lambda: (
                held > 1 and verbs.give_back(bin=bin, quantity=2, from_=work, ask=asked)
            ),
            "move": lambda: (
                bin is not tins[2]
                and verbs.move(bin=bin, quantity=3, to=other, ask=asked)
            ),
        }
        deeds[dice.choice(("pull", "pull", *deeds))]()

    return step


def added_up():
    """Every figure by its own definition, from the movements of acts that stand."""
    found = {figure: defaultdict(int) for figure in FIGURES}
    gone = set()
    for act in Act.objects.filter(verb=Verb.UNDO).order_by("pk"):
        while act.undoes is not None:
            act = act.undoes
        gone ^= {act.pk}
    rows = Movement.objects.exclude(act__verb=Verb.UNDO).exclude(act__in=gone)
    for row in rows.select_related("act", "item", "source", "target"):
        for figure, key in of_work(row):
            names = ("place", "other", "what", "who")
            key = (*(key.get(name, 0) for name in names), key.get("day", ""))
            found[figure][key] += row.quantity
    return {figure: said(figures) for figure, figures in found.items()}


def of_work(row):
    """What a movement to or at an assembly adds to."""
    way, item = (row.source.kind, row.target.kind), {"what": row.item_id}
    if way == (rules.BIN, rules.ASSEMBLY):
        yield Figure.TO_WORK, item
        if row.item.kind not in ONE_AT_A_TIME | HOLDING:
            yield Figure.SET_ON, {"day": str(localdate(row.act.at))}
        yield Figure.PULLED_BY, {**item, "place": row.target_id, "who": row.act.by_id}
    if way == (rules.ASSEMBLY, rules.SCRAP):
        yield Figure.SCRAPPED, {**item, "place": row.source_id}


def said(figures):
    return {key: total for key, total in figures.items() if total}


@pytest.mark.unmeasured
@pytest.mark.django_db
def test_kept_or_not_a_figure_is_the_sum_of_its_movements(story, monkeypatch):
    """Summed at any moment, in pages that end anywhere."""
    monkeypatch.setattr(summing, "PAGE", 3)
    seen = set()
    # To add all up takes the second engine ten times as long.
    step = 30 if connection.features.has_select_for_update else 10
    for at in range(120):
        story()
        if at in (20, 21, 70, 100):
            keep_sums()
            assert summed_upto() == Movement.objects.latest("pk").pk
        if at % step == 1:
            expected = added_up()
            assert {each: said(summed(each)) for each in FIGURES} == expected
            seen |= {figure for figure, sums in expected.items() if sums}
    assert seen == FIGURES
    assert queries.flaws() == []


@pytest.mark.django_db
def test_a_figure_is_asked_for_some_keys_alone(story):
    for _ in range(40):
        story()
    keep_sums()
    for _ in range(40):
        story()
    every = summed(Figure.PULLED_BY)
    place = next(iter(every))[0]
    asked = summed(Figure.PULLED_BY, place=[place])
    assert asked == {key: total for key, total in every.items() if key[0] == place}
    assert said(every) != said(asked)
    assert summed(Figure.PULLED_BY, place=[]) == {}


@pytest.mark.django_db
def test_kept_sums_are_made_anew_after_mending(story, owner):
    for _ in range(20):
        story()
    keep_sums()
    KeptSum.objects.filter(figure=Figure.TO_WORK).update(total=1)
    assert queries.flaws()
    mending.reckon_anew(by=owner)
    assert summed_upto() == 0
    assert {each: said(summed(each)) for each in FIGURES} == added_up()
    keep_sums()
    assert queries.flaws() == []


@pytest.mark.django_db(transaction=True)
def test_nothing_is_missed_or_doubled_while_others_pull_and_sum(rivets, owner, now):
    place = bins.open_place(kind="assembly", name="Wing")

    def work(at):
        if at % 4 == 3:
            keep_sums()
            return sum(summed(Figure.TO_WORK).values())
        ask = Ask(owner, now, str(uuid.uuid4()))
        verbs.pull(bin=rivets, quantity=2, to=place, ask=ask)
        return 0

    for read in in_parallel(work, 24):
        assert read % 2 == 0
    keep_sums()
    assert sum(summed(Figure.TO_WORK).values()) == 36
    assert queries.flaws() == []
