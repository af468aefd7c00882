"""Pace and what-if: a gap is a gap, and a supposition changes nothing."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.planning.rules.dating import StageFacts, date_stages
from inventory.planning.rules.pace import Pace, pace_of
from inventory.planning.rules.whatif import WhatIf, supposed

TODAY = date(2027, 3, 1)


def session(day, pieces=120):
    return {TODAY + timedelta(days=day): pieces}


# Common practice, no source: after a two-year gap, pace must not average to minutes a week.
def test_two_years_away_do_not_slow_the_pace():
    steady = {k: v for n in range(0, 70, 7) for k, v in session(n).items()}
    again = {k: v for n in range(800, 870, 7) for k, v in session(n).items()}
    before, after = pace_of(steady), pace_of({**steady, **again})
    assert before.pieces_a_day == pytest.approx(1200 / 64)
    assert after.pieces_a_day == pytest.approx(before.pieces_a_day, rel=0.05)
    assert after.days_for(1200) == pytest.approx(64, abs=4)


@pytest.mark.parametrize(
    ("record", "days"),
    [({0: 10, 28: 10}, 29), ({0: 10, 29: 10}, 8), ({0: 10, 1: 9, 2: 0, 3: 1}, 4)],
)
def test_a_gap_is_time_at_work_up_to_four_weeks(record, days):
    found = pace_of({TODAY + timedelta(days=n): each for n, each in record.items()})
    assert found.pieces_a_day == pytest.approx(20 / days)
    assert found.sessions == sum(each > 0 for each in record.values())


def test_days_are_rounded_up_and_at_least_one():
    assert [Pace(10.0, 8).days_for(pieces) for pieces in (0, 10, 11)] == [1, 1, 2]
    assert Pace(10.0, 7).days_for(10) is None
    assert Pace(0.0, 8).days_for(10) is None


def test_a_thin_record_has_no_pace():
    assert not pace_of(session(0)).is_known
    assert pace_of({}) == Pace(0.0, 0)
    assert pace_of({}).days_for(100) is None


@given(st.dictionaries(st.integers(0, 2000), st.integers(1, 400), min_size=8))
def test_the_pace_is_never_under_the_plain_average(days):
    record = {TODAY + timedelta(days=n): pieces for n, pieces in days.items()}
    plain = sum(days.values()) / (max(days) - min(days) + 1)
    assert pace_of(record).pieces_a_day >= plain - 1e-9


STAGES = [
    StageFacts(
        1, TODAY - timedelta(days=40), TODAY - timedelta(days=38), False, False, 30
    ),
    StageFacts(2, TODAY + timedelta(days=20), None, False, False, 40),
    StageFacts(3, TODAY + timedelta(days=60), None, False, False, 50),
    StageFacts(4, None, None, False, False, 60),
]


def starts(what):
    rows = date_stages(supposed(STAGES, what, TODAY), TODAY, 28, what.away_days)
    return {row.pk: (row.start - TODAY).days for row in rows}


def test_weeks_away_move_what_has_not_begun():
    plain, away = starts(WhatIf()), starts(WhatIf(away_days=42))
    assert away[1] == plain[1]
    assert [away[pk] - plain[pk] for pk in (2, 3, 4)] == [42, 42, 42]


def test_twice_as_fast_halves_the_way_to_each_start():
    assert [starts(WhatIf(times_as_fast=2.0))[pk] for pk in (2, 3, 4)] == [10, 30, 55]


def test_swapped_stages_take_each_others_dates_and_order():
    rows = supposed(STAGES, WhatIf(swap=(2, 3)), TODAY)
    assert [row.pk for row in rows] == [1, 3, 2, 4]
    assert starts(WhatIf(swap=(2, 3)))[3] == starts(WhatIf())[2]


def test_nothing_supposed_changes_nothing_and_nonsense_is_refused():
    assert supposed(STAGES, WhatIf(), TODAY) == STAGES
    assert WhatIf().changes_nothing
    for nonsense in ({"away_days": -1}, {"times_as_fast": 0.0}, {"times_as_fast": 9.0}):
        with pytest.raises(Refused, match="0 to 1000 days"):
            WhatIf(**nonsense)
    for nobody in ((2, 99), (2, 2)):
        with pytest.raises(Refused, match="two different stages"):
            supposed(STAGES, WhatIf(swap=nobody), TODAY)


def test_a_supposition_is_said_and_its_limits_are_allowed():
    what = WhatIf(away_days=42, swap=(2, 3), times_as_fast=1.25)
    assert what.words == "42 days away, two stages swapped, 1.25 times as fast"
    assert not what.changes_nothing
    assert WhatIf().words == ""
    for most in ({"away_days": 1000}, {"times_as_fast": 0.2}, {"times_as_fast": 5.0}):
        assert WhatIf(**most).words


def test_work_takes_a_day_however_fast():
    short = replace(STAGES[1], work_days=1)
    (row,) = supposed([short], WhatIf(times_as_fast=5.0), TODAY)
    assert (row.work_days, row.planned_start) == (1, TODAY + timedelta(days=4))


def test_the_only_two_stages_are_swapped():
    rows = supposed(STAGES[1:3], WhatIf(swap=(2, 3)), TODAY)
    assert [(row.pk, row.planned_start) for row in rows] == [
        (3, STAGES[1].planned_start),
        (2, STAGES[2].planned_start),
    ]


def test_a_guessed_start_says_how_far_it_may_be_off():
    rows = date_stages(STAGES, TODAY, 28)
    assert [row.give_or_take for row in rows[:3]] == [0, 0, 0]
    assert rows[3].give_or_take == pytest.approx(0.3 * 110, abs=1)
