"""Learning over a whole record: classes lean on one another, bursts are the shop's."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.forecasting.rules.bursts import Bursts
from inventory.forecasting.rules.learning import ClosedRow, learned
from inventory.forecasting.rules.spoilage import PRIOR_BAD, PRIOR_GOOD

ROWS = st.lists(
    st.builds(
        ClosedRow,
        st.sampled_from(["3/32 flush", "1/8 universal"]),
        st.integers(1, 400),
        st.integers(0, 60),
    ),
    max_size=12,
)


def test_without_a_record_everyone_has_the_stated_guess():
    belief = learned([]).of("3/32 flush")
    assert belief.good == pytest.approx(PRIOR_GOOD, rel=0.01)
    assert belief.bad == pytest.approx(PRIOR_BAD, rel=0.02)
    assert belief.bursts == Bursts()
    assert learned([]).of("3/16 bolt", bursty=False).bursts is None


@pytest.mark.slow
@given(ROWS)
def test_no_spoiled_piece_is_lost_between_ordinary_work_and_bursts(rows):
    found = learned(rows)
    ordinary = sum(beta.bad for beta in found.record.values())
    burst = found.bursts.lost - Bursts().lost
    assert ordinary + burst == pytest.approx(sum(row.bad for row in rows))
    assert sum(beta.good for beta in found.record.values()) == sum(r.good for r in rows)


@pytest.mark.slow
@given(ROWS)
def test_clean_work_afterwards_never_raises_a_rate(rows):
    before = learned(rows)
    after = learned([*rows, ClosedRow("3/32 flush", 500, 0)])
    assert after.bursts.rate <= before.bursts.rate
    rates = [
        belief.bad / belief.good
        for belief in (each.of("3/32 flush") for each in (before, after))
    ]
    assert rates[1] <= rates[0] + 1e-9


def test_a_class_without_a_record_leans_on_the_others():
    clean = learned(
        [ClosedRow("3/32 flush", 4000, 2), ClosedRow("1/8 universal", 3000, 2)]
    )
    poor = learned(
        [ClosedRow("3/32 flush", 4000, 160), ClosedRow("1/8 universal", 3000, 120)]
    )
    rates = [each.of("5/32 universal") for each in (clean, poor)]
    assert rates[0].bad / rates[0].good < 0.01 < 0.02 < rates[1].bad / rates[1].good


def test_one_lost_half_session_is_a_burst_and_not_a_rate():
    rng = np.random.default_rng(3)
    rows = [
        ClosedRow("3/32 flush", 150, int(rng.binomial(150, 0.008))) for _ in range(30)
    ]
    spoiled = learned([*rows, ClosedRow("3/32 flush", 150, 34)])
    assert spoiled.bursts.seen == Bursts().seen + 1
    belief = spoiled.of("3/32 flush")
    assert belief.bad / (belief.good + belief.bad) < 0.015


ADA, BO = 1, 2


def worked(name, rows):
    return [ClosedRow(name, good, bad, by) for by, good, bad in rows]


def test_the_hand_at_work_is_reckoned_with_once_two_have_enough_record():
    before = [(ADA, 100, 1), (BO, 90, 4)] * 9
    ada = learned(worked("3/32 flush", [*before, *[(ADA, 100, 1)] * 10]))
    bo = learned(worked("3/32 flush", [*before, *[(BO, 90, 4)] * 10]))
    assert (ada.hand, bo.hand) == (ADA, BO)
    careful, rough = (each.of("3/32 flush") for each in (ada, bo))
    assert careful.bad / careful.good < 0.015 < 0.03 < rough.bad / rough.good


def test_one_person_alone_and_a_beginner_count_as_the_class():
    rows = worked("3/32 flush", [(ADA, 100, 1)] * 9 + [(BO, 10, 3)] * 2)
    found = learned(rows)
    assert found.hands["3/32 flush"] == {}
    nameless = learned([ClosedRow(row.name, row.good, row.bad) for row in rows])
    assert found.of("3/32 flush") == nameless.of("3/32 flush")
    assert nameless.hand is None
