"""Taking back and doing again at a bench, however often it is pressed."""

import uuid

import pytest

from inventory.ledger import queries
from inventory.planning.models import Assembly
from inventory.scanning.actions import Sent, bench_called, scan
from inventory.trade import codes
from tests.scanning.stories import CARDS, furnish

pytestmark = pytest.mark.django_db


@pytest.fixture
def pressing(owner, ask, now):
    """Presses at a bench of a shop with a sheet open; what bin 12 holds after each."""
    furnish(owner, ask, now)
    bench = bench_called(key="bench 1", person=owner, now=now)
    clock = iter(range(0, 10**6, 2000))

    def press(*raws):
        for raw in raws:
            code = codes.make("C", CARDS[raw]) if raw in CARDS else raw
            at = next(clock)
            sent = Sent(uuid.uuid4(), code, at, at)
            said = scan(bench=bench, sent=sent, by=owner, now=now)
        return said["kind"], queries.quantity_in(queries.bin_numbered(12))

    skin = Assembly.objects.get(name="Skin")
    press(codes.make("S", skin.pk))
    return press


@pytest.mark.slow
def test_undo_and_redo_come_back_to_the_same_act_however_often(pressing):
    """Never to one before it: that would put other pieces back."""
    label = codes.make("B", 12)
    before = pressing(label, "3", label)[1]
    after = pressing(label, "5", label)[1]
    assert after == before - 5
    for _ in range(3):
        assert pressing("undo") == ("undone", before)
        assert pressing("redo") == ("undone", after)
        assert pressing("redo") == ("refused", after)
    assert pressing("undo") == ("undone", before)
    assert pressing("undo") == ("undone", before + 3)
    assert pressing("undo")[0] == "refused"
    assert pressing("redo") == ("undone", before)
