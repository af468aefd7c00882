"""The demo's plan and stock list: every row good, and as big as a real build."""

from collections import Counter
from datetime import date

import pytest

from inventory.management.commands.load_demo import FIXTURES, _shifted
from inventory.ordering.rules import lists as rules
from inventory.planning.rules import lines
from inventory.planning.rules.lines import PlanLine
from inventory.sheets import read
from inventory.trade import callouts

WORDS_OF_OUR_OWN = {"TANK-SEALANT"}  # named by its stock row


@pytest.fixture(scope="module")
def plan() -> list[PlanLine]:
    """The plan's good rows; a bad one fails here."""
    data = (FIXTURES / "plan.csv").read_bytes()
    good, bad = lines.parse(read("plan.csv", data, lines.COLUMNS))
    assert bad == []
    return good


def solid_rivets(plan: list[PlanLine]) -> Counter[str]:
    """Pieces by the key of each solid rivet."""
    found: Counter[str] = Counter()
    for row in plan:
        if row.callout and row.callout not in WORDS_OF_OUR_OWN:
            reading = callouts.parse(row.callout)
            if reading.kind == "solid_rivet":
                found[reading.key] += row.each * row.how_many
    return found


def test_every_callout_of_the_plan_is_read(plan: list[PlanLine]) -> None:
    """'other' would be a part that nothing here knows."""
    texts = {row.callout for row in plan if row.callout} - WORDS_OF_OUR_OWN
    kinds = {text: callouts.parse(text).kind for text in texts}
    other = {text for text, kind in kinds.items() if kind == "other"}
    assert other == set()
    assert kinds["MS24665-132"] == "cotter_pin"
    assert len(texts) > 60


def test_the_plan_is_as_big_as_an_aircraft(plan: list[PlanLine]) -> None:
    """About 12,000 rivets in about 40 spec-lengths, a few of which are most of it."""
    pieces = solid_rivets(plan)
    total = sum(pieces.values())
    assert 11_500 <= total <= 12_500
    assert 36 <= len(pieces) <= 42
    most = sum(count for _key, count in pieces.most_common(7))
    assert 0.83 <= most / total <= 0.89
    flush = sum(n for key, n in pieces.items() if key.startswith("MS20426AD3-"))
    assert flush / total > 0.6


def test_shares_of_tail_wings_and_fuselage(plan: list[PlanLine]) -> None:
    """A fifth, two fifths and a third, within three parts in a hundred."""
    stages = list(dict.fromkeys(row.stage for row in plan))
    assert len(stages) == 12
    assert 55 <= len({(row.stage, row.assembly) for row in plan}) <= 65
    total = sum(solid_rivets(plan).values())
    for names, share in ((stages[:3], 0.2), (stages[3:7], 0.4), (stages[7:10], 0.33)):
        part = solid_rivets([row for row in plan if row.stage in names])
        assert sum(part.values()) / total == pytest.approx(share, abs=0.03)


def test_the_stock_list_has_a_bin_for_all_the_plan_asks(plan: list[PlanLine]) -> None:
    """No item of the plan is without a bin, and no row is bad."""
    data = (FIXTURES / "stock.csv").read_bytes()
    good, bad = rules.parse(read("stock.csv", data, rules.COLUMNS))
    assert bad == []
    stocked = {row.callout for row in good}
    stocked_keys = {
        callouts.parse(text).key
        for text in stocked - WORDS_OF_OUR_OWN
        if text and not text.startswith("MS24665")
    }
    asked = {row.callout for row in plan if row.callout} - WORDS_OF_OUR_OWN
    missing = {
        text
        for text in asked
        if text not in stocked and callouts.parse(text).key not in stocked_keys
    }
    assert missing == set()


def test_every_day_moves_as_far_as_the_reference_day() -> None:
    """Over a leap day too; nothing but days changes."""
    reference = date(2027, 3, 1)
    before = (FIXTURES / "plan.csv").read_bytes()
    assert _shifted("plan", reference, reference) == before
    after = _shifted("plan", reference, date(2028, 2, 29))
    assert after.count(b"2028-03-12,Lower skins, left") == before.count(
        b"2027-03-13,Lower skins, left"
    )
    assert b"Wing skins,2028-03-12," in after
    assert len(after) == len(before)
