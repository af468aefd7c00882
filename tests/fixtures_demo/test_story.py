"""The demo's story, told by the forecast and the alerts after loading."""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from django.db import transaction
from django.utils import timezone
from pytest_django import DjangoDbBlocker

from inventory.alerts.queries.finding import findings
from inventory.catalog.models import Item
from inventory.forecasting.models import Bit
from inventory.forecasting.queries.readiness import readiness
from inventory.forecasting.queries.tools import holes_on, pools
from inventory.forecasting.rules.readiness import READY, READY_BUT_FOR
from inventory.ledger.models import Act, Movement
from inventory.ledger.queries import Bin, Place, flaws, quantities_at, quantity_in
from inventory.ordering.models import Order
from inventory.ordering.queries import overdue, still_owed
from inventory.people.queries import shop
from inventory.planning.actions.importing import unread_callouts
from inventory.planning.models import CLOSED, IN_WORK, PLANNED
from inventory.planning.queries import current_build, stages
from inventory.planning.queries.spoilage import spoilage_record
from tests.fixtures_demo.loaded import TODAY, loaded

pytestmark = [pytest.mark.slow]


@pytest.fixture(scope="module")
def demo(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """The loaded shop, once for all tests of this file, taken back at the end."""
    with django_db_blocker.unblock(), transaction.atomic():
        loaded()
        yield
        transaction.set_rollback(True)


@pytest.mark.unmeasured
def test_only_the_next_stage_and_one_later_are_not_ready(demo: None) -> None:
    """One short size before the next stage; one later stage short by its pool."""
    found = readiness(TODAY)
    words = {row.stage.name: row.verdict.word for row in found.stages}
    assert words == {
        "Wing ribs": READY,
        "Wing skins": READY_BUT_FOR,
        "Tanks and flaps": READY,
        "Forward fuselage": READY_BUT_FOR,
        "Center fuselage": READY,
        "Tail cone": READY,
        "Canopy and cowl": READY,
        "Fitting out": READY,
    }
    rows = {row.stage.name: row for row in found.stages}
    skins, forward = rows["Wing skins"], rows["Forward fuselage"]
    assert skins.dates.start == TODAY + timedelta(days=12)
    short = [line for line in skins.lines if line.short]
    assert [found.items[line.item_id].callout for line in short] == ["MS20426AD3-4.5"]
    assert short[0].certainly_short
    assert short[0].order_by == TODAY + timedelta(days=6)
    assert not short[0].lead.is_guess
    pool = [line for line in forward.lines if line.short]
    assert [(line.kind, line.size) for line in pool] == [("pool", "1/8")]
    assert pool[0].need > pool[0].on_hand == 190


def test_the_rest_is_comfortable(demo: None) -> None:
    """Nothing but the two stands near running short."""
    for row in readiness(TODAY).stages:
        for line in row.lines:
            if not line.short:
                assert line.chance_short < 0.005, (row.stage.name, line)


def test_four_things_to_tell(demo: None) -> None:
    """The short size, the pool, the sealant's life, the bin to count: no more."""
    causes = sorted(row.cause for row in findings(TODAY))
    assert causes == ["count", "pool", "shelf_life", "short"]
    (count,) = [row for row in findings(TODAY) if row.cause == "count"]
    assert "21 more came out than the record held" in count.sentence


def test_five_stages_begun_four_of_them_done(demo: None) -> None:
    """Stage five is in work: some closed, two open, some not begun."""
    rows = list(stages(current_build()))
    assert [row.closed == row.total for row in rows] == [True] * 4 + [False] * 8
    states = {row.state for row in rows[4].assemblies.all()}
    assert states == {CLOSED, IN_WORK, PLANNED}
    assert sum(row.in_work for row in rows) == 2


def test_one_order_on_its_way_and_one_received_in_part(demo: None) -> None:
    """What is still owed, and nothing of it overdue."""
    first, second = Order.objects.order_by("number")
    owed = {
        (row.line.order_id, row.line.item.callout): (row.got, row.pieces)
        for row in still_owed()
    }
    assert owed == {
        (first.pk, "AN3-6A"): (5, 20),
        (second.pk, "MS20470AD4-6"): (0, 250),
    }
    assert overdue(TODAY) == []


def test_the_order_on_its_way_is_what_keeps_a_later_stage_ready(
    demo: None,
) -> None:
    """Without it, forward and center fuselage would run short of it."""
    found = readiness(TODAY)
    item = Item.objects.get(callout="MS20470AD4-6")
    lines = [x for row in found.stages for x in row.lines if x.item_id == item.pk]
    assert lines[-1].through > lines[-1].on_hand
    assert lines[-1].due == 250


def test_a_dull_drill_and_its_successor(demo: None) -> None:
    """The first #40 bit went dull after some holes; another is fitted."""
    states = [(bit.item.size, bit.state) for bit in Bit.objects.order_by("number")]
    assert states == [("#40", "dull"), ("#30", "fitted"), ("#40", "fitted")]
    dull = Bit.objects.get(number=1)
    assert dull.events.get(event="dull").holes > 100
    assert holes_on(Bit.objects.get(number=3)) > 50


def test_lent_fasteners_are_not_in_the_pool(demo: None) -> None:
    """48 of the 3/32 size are two doors down."""
    lent = Place.objects.filter(kind="borrower").values_list("pk", flat=True)
    assert list(quantities_at(lent).values()) == [48]
    assert pools()["3/32"][0] == 820 - 48


def test_spoilage_came_in_bursts(demo: None) -> None:
    """A low rate overall, and one evening with most of it."""
    rows = spoilage_record()
    good, bad = sum(row.good for row in rows), sum(row.bad for row in rows)
    assert 0.005 < bad / (good + bad) < 0.04
    assert max(row.bad for row in rows) > 0.2 * bad


def test_history_lies_in_the_past_and_in_order(demo: None) -> None:
    """Ids are the order of what happened, and nothing happened tomorrow."""
    moments = list(Act.objects.order_by("pk").values_list("at", flat=True))
    assert moments == sorted(moments)
    assert timezone.localdate(moments[-1]) < TODAY
    assert Movement.objects.count() > 250


def test_the_books_hold(demo: None) -> None:
    """Every balance is its movements' sum; nothing unread; only one bin stands empty."""
    assert flaws() == []
    assert unread_callouts() == []
    bins = list(Bin.objects.select_related("item"))
    assert [bin.spot for bin in bins if quantity_in(bin) == 0] == ["bench jar"]
    assert shop().name == "Fennel Lane workshop"
    assert current_build().name == "Brackenlark Two"  # type: ignore[union-attr]
