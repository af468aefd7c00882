"""Temporary fasteners held at once."""

import random
from datetime import date, timedelta

import pytest

from inventory.forecasting.rules.pool import Hold, held_by, peak, peak_by_stage

DAY = date(2027, 1, 1)


def held(start, end, quantity, stage=1):
    return Hold(stage, stage, quantity, DAY + timedelta(start), DAY + timedelta(end))


def test_overlapping_spans_widely_published_exercise_from_memory():
    rows = [held(0, 30, 1), held(5, 10, 1), held(15, 20, 1)]
    assert peak(rows).quantity == 2


def test_weighted_spans_are_half_open_computed():
    rows = [held(0, 10, 120), held(4, 8, 60), held(8, 15, 200), held(10, 12, 40)]
    top = peak(rows)
    assert (top.quantity, top.day) == (320, DAY + timedelta(8))


@pytest.mark.parametrize("seed", range(20))
def test_the_peak_is_the_most_of_every_single_day(seed):
    rng = random.Random(seed)
    rows = []
    for _ in range(12):
        start = rng.randrange(40)
        rows.append(held(start, start + rng.randrange(1, 20), rng.randrange(1, 300)))
    daily = max(
        sum(r.quantity for r in rows if r.start <= DAY + timedelta(d) < r.end)
        for d in range(70)
    )
    assert peak(rows).quantity == daily


def test_every_second_hole_of_1060_takes_530_for_days():
    # Common practice, no source: one wing's skins at every 2nd hole hold about 530 (computed on an anecdote).
    row = held_by(1060, 2, DAY, 21, (1, 1))
    assert row is not None
    assert (row.quantity, row.end) == (530, DAY + timedelta(21))
    assert held_by(1060, 0, DAY, 21, (1, 1)) is None


def test_a_stage_sees_what_others_still_hold():
    rows = [held(0, 10, 100, stage=1), held(5, 20, 50, stage=2)]
    tops = peak_by_stage(rows)
    assert tops[1].quantity == 150
    assert tops[2].quantity == 150
