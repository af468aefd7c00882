"""How doubtful a bin is: by its count, by a look since, by what its look-alikes lost."""

import pytest

from inventory.forecasting.rules.doubts import Beside, doubtful, on_hand
from inventory.ledger.rules import CountFacts, CountRecord, LookFacts

COUNTS = CountRecord(pooled=1.0, own={}, mixed_up=0.02)


def bin_of(item, moved=0, beside=0, look=None, balance=100):
    """Counted by hand as a hundred."""
    return CountFacts(item, item, balance, 100, None, True, moved, beside, look)


def test_what_was_pulled_of_look_alikes_counts_from_the_bins_own_count_on():
    beside = Beside({1: {2, 3}}, {2: 300, 3: 100, 4: 900})
    (fresh,) = doubtful([bin_of(1, beside=400)], beside, COUNTS)
    assert (fresh.beside, fresh.jobs_gone) == (0, 0.0)
    assert fresh.doubt == pytest.approx(0.3)
    (old,) = doubtful([bin_of(1, beside=100)], beside, COUNTS)
    assert old.beside == 150
    assert old.doubt == pytest.approx((0.3**2 + 150) ** 0.5)
    assert old.jobs_gone == pytest.approx(0.02 * 300 / 50)
    # More was taken back since than had been pulled.
    (back,) = doubtful([bin_of(1, beside=500)], beside, COUNTS)
    assert back.beside == 0
    # Of an old count it is not known: they moved as it did.
    (unknown,) = doubtful([bin_of(1, moved=60, beside=None)], beside, COUNTS)
    assert unknown.beside == 30
    (alone,) = doubtful([bin_of(5, moved=60, beside=None)], beside, COUNTS)
    assert alone.beside == 0


def test_a_look_tells_what_moved_and_may_be_gone_since():
    beside = Beside({1: {2}}, {2: 400})
    seen = LookFacts(doubt=6.0, moved=4, beside=380)
    (row,) = doubtful([bin_of(1, moved=90, look=seen)], beside, COUNTS)
    assert row.is_seen
    assert row.moved == (4, 10)
    assert row.doubt == pytest.approx((36 + 4 + 10) ** 0.5)
    assert row.jobs_gone == pytest.approx(0.02 * 20 / 50)
    # One that is too rough to miss a job rules none out, and a better count stands.
    rough = LookFacts(doubt=60.0, moved=4, beside=380)
    (row,) = doubtful([bin_of(1, moved=90, look=rough)], beside, COUNTS)
    assert not row.is_seen
    assert row.moved == (90, 200)
    assert row.jobs_gone == pytest.approx(0.02 * 400 / 50)


def test_bins_of_one_item_add_up_but_for_the_job_that_went_from_one_of_them():
    beside = Beside({1: {2}}, {2: 400})
    rows = doubtful([bin_of(1, 16, 400), bin_of(1, 9, 300, balance=50)], beside, COUNTS)
    found = on_hand(rows, [1, 7])
    assert found[1].units == 150
    assert found[1].doubt == pytest.approx((2 * 0.3**2 + 16 + 9 + 50) ** 0.5)
    assert found[1].jobs_gone == pytest.approx(0.02 * 100 / 50)
    assert found[7] == (0, 0.0, 0.0)
