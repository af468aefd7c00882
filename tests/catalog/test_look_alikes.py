"""One relation of look-alikes, for the bench, the doubt, closing and the pages."""

import pytest

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.queries import look_alikes, look_alikes_of
from inventory.catalog.rules import FASTENERS, KINDS, described
from inventory.forecasting.queries.doubts import stock
from inventory.forecasting.queries.readiness import touched_by
from inventory.ledger.actions.bins import open_bin, open_place
from inventory.ledger.actions.verbs import count, pull
from inventory.ledger.rules import CountRecord
from inventory.scanning.queries import whole_shop

pytestmark = pytest.mark.django_db
RIVET, LONGER, SOFT, FAR = (
    "MS20470AD4-4",
    "MS20470AD4-5",
    "MS20470A4-4",
    "MS20470AD4-6",
)
BOLT, NEXT_BOLT = "AN3-4A", "AN3-5A"


@pytest.fixture
def tins(owner, ask):
    """A bin of 200 of each, counted."""
    found = {}
    for callout in (RIVET, LONGER, SOFT, FAR, BOLT, NEXT_BOLT):
        item = item_for_callout(text=callout)
        found[callout] = open_bin(item=item, by=owner)
        count(bin=found[callout], counted=200, ask=ask())
    return found


def test_the_nearest_come_first_and_bolts_are_among_them(tins):
    def of(callout):
        return [row.callout for row in look_alikes(tins[callout].item)]

    assert of(RIVET) == [SOFT, LONGER]
    assert of(LONGER) == [RIVET, FAR]
    assert of(BOLT) == [NEXT_BOLT]


def test_pairs_and_the_bench_say_the_same(tins):
    every = [bin.item_id for bin in tins.values()]
    pairs = {
        frozenset((one, other))
        for one, others in look_alikes_of(every).items()
        for other in others
    }
    said = {
        frozenset((int(item), other))
        for item, row in whole_shop()["items"].items()
        for other, _differs in row["alike"]
    }
    assert pairs == said
    assert len(pairs) == 4


@pytest.mark.slow
@pytest.mark.parametrize(("moved", "doubted"), [(RIVET, SOFT), (BOLT, NEXT_BOLT)])
def test_what_moved_of_one_makes_the_other_doubtful(tins, ask, moved, doubted):
    items = {callout: bin.item_id for callout, bin in tins.items()}
    before = stock(items.values(), CountRecord())
    rib = open_place(kind="assembly", name="Rib")
    pull(bin=tins[moved], quantity=120, to=rib, ask=ask())
    after = stock(items.values(), CountRecord())
    worse = {
        callout for callout, pk in items.items() if after[pk].doubt > before[pk].doubt
    }
    assert {moved, doubted} <= worse
    assert FAR not in worse
    assert items[doubted] in touched_by([items[moved]]).items


def test_what_is_used_up_is_no_tool():
    """Discs and papers are used up: common practice, no source."""
    used_up = {code for code, kind in KINDS.items() if kind.consumed}
    assert {*FASTENERS, "sealant", "primer", "abrasive"} <= used_up
    assert used_up.isdisjoint({"drill", "reamer", "dimple_die", "temporary_fastener"})


@pytest.mark.parametrize(
    ("form", "holds"), [("standard", True), ("short", True), ("edge clamp", False)]
)
def test_some_forms_hold_a_hole(form, holds):
    what = described("temporary fastener", size="3/32", form=form)
    assert item_described(what=what).holds_a_hole is holds
