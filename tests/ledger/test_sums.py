"""What movements add up to is the same, however much of it was kept already."""

import random
import uuid
from collections import defaultdict

import pytest
from django.utils.timezone import localdate

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.rules import HOLDING, ONE_AT_A_TIME, described
from inventory.ledger import queries, rules
from inventory.ledger.actions import bins, mending, summing, verbs
from inventory.ledger.actions.posting import Ask
from inventory.ledger.actions.summing import keep_sums
from inventory.ledger.models import Act, Bin, KeptSum, Movement
from inventory.ledger.queries import counts
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
            "undo": lambda: undone and verbs.undo(act=undone, ask=asked),
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
    """Every figure from all movements, by its own definition."""
    found = {figure: defaultdict(int) for figure in FIGURES}
    firsts = {}
    for act in Act.objects.filter(verb=Verb.COUNT).order_by("-pk"):
        firsts[act.bin_id] = act.pk
    undone = set(Act.objects.exclude(undoes=None).values_list("undoes", flat=True))
    for row in Movement.objects.select_related("act", "item", "source", "target"):
        row.way = (row.source.kind, row.target.kind)
        row.stands = row.act_id not in undone and row.act.undoes_id is None
        is_told = row.act.reason != rules.OPENING
        row.is_first = not is_told or row.act_id == firsts.get(row.act.bin_id)
        for figure, n, key in (*of_work(row), *of_bins(row)):
            names = ("place", "other", "what", "who")
            found[figure][
                *(key.get(name, 0) for name in names), key.get("day", "")
            ] += n
    return {figure: said(figures) for figure, figures in found.items()}


def of_work(row):
    """What a movement to, from or at an assembly adds to."""
    n, item = row.quantity, {"what": row.item_id}
    if row.way == (rules.BIN, rules.ASSEMBLY):
        yield Figure.TO_WORK, n, item
        if row.item.kind not in ONE_AT_A_TIME | HOLDING:
            yield Figure.SET_ON, n, {"day": str(localdate(row.act.at))}
        if row.stands:
            hand = {"place": row.target_id, "who": row.act.by_id}
            yield Figure.PULLED_BY, n, {**item, **hand}
    if row.way == (rules.ASSEMBLY, rules.SCRAP):
        yield Figure.SCRAPPED, n, {**item, "place": row.source_id}
    if row.way == (rules.SCRAP, rules.ASSEMBLY):
        yield Figure.SCRAPPED, -n, {**item, "place": row.target_id}


def of_bins(row):
    """What a count's movement adds to, and any other of a bin."""
    n = row.quantity
    if row.act.verb == Verb.COUNT:
        if row.stands and not row.is_first:
            is_lacking = row.way[1] == rules.COUNT_DIFFERENCE
            yield Figure.LACKING, n if is_lacking else -n, {"what": row.item_id}
            yield Figure.SQUARES, n * n, {}
    elif row.way == (rules.BIN, rules.BIN):
        yield Figure.MOVED, n, {"place": row.source_id, "other": row.target_id}
    elif rules.BIN in row.way:
        ends = dict(zip(row.way, (row.source_id, row.target_id), strict=True))
        yield Figure.MOVED, n, {"place": ends[rules.BIN]}


def said(figures):
    return {key: total for key, total in figures.items() if total}


@pytest.mark.django_db
def test_kept_or_not_a_figure_is_the_sum_of_its_movements(story, monkeypatch):
    """Summed at any moment, in pages that end anywhere."""
    monkeypatch.setattr(summing, "PAGE", 3)
    seen = set()
    for at in range(120):
        story()
        if at in (20, 21, 70, 100):
            keep_sums()
            assert summed_upto() == Movement.objects.latest("pk").pk
        if at % 10 == 1:
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
def test_what_moved_counts_once_where_a_bin_was_ever_counted(story):
    for _ in range(60):
        story()
    keep_sums()
    counted = set(Bin.objects.exclude(counted_at=None).values_list("place", flat=True))
    rows = Movement.objects.exclude(act__verb=Verb.COUNT)
    moved = [r.quantity for r in rows if {r.source_id, r.target_id} & counted]
    assert counts.count_record()[1] == sum(moved)


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


def test_the_largest_difference_is_squared(rivets, ask):
    """A slip of a million, squared, is more than the engines' usual number holds."""
    verbs.count(bin=rivets, counted=rules.MAX_QUANTITY, ask=ask())
    verbs.count(bin=rivets, counted=0, ask=ask())
    more, less = rules.MAX_QUANTITY - 40, rules.MAX_QUANTITY
    assert counts.count_record()[0] == more**2 + less**2
    keep_sums()
    assert counts.count_record()[0] == more**2 + less**2
