"""When stages start."""

from datetime import date, timedelta

from inventory.planning.rules.dating import StageFacts, date_stages

TODAY = date(2027, 3, 1)


def stage(pk, start=None, started=None, finished=False, skipped=False):
    return StageFacts(pk, start, started, finished, skipped)


def test_an_undated_stage_follows_at_the_pace_and_is_a_guess():
    first, second = date_stages([stage(1, date(2027, 4, 1)), stage(2)], TODAY, 28)
    assert not first.is_guess
    assert (second.start, second.is_guess) == (date(2027, 4, 29), True)


def test_a_day_gone_by_without_a_start_is_late_and_shifts_what_follows():
    first, second = date_stages([stage(1, date(2027, 2, 1)), stage(2)], TODAY, 28)
    assert first.late
    assert first.start == TODAY
    assert second.start == TODAY + timedelta(28)


def test_a_stage_of_today_is_not_late():
    (only,) = date_stages([stage(1, TODAY)], TODAY, 28, away_days=9)
    assert (only.late, only.start, only.end) == (False, TODAY, TODAY + timedelta(28))


def test_a_started_stage_is_not_late():
    (only,) = date_stages(
        [stage(1, date(2027, 2, 1), started=date(2027, 2, 9))], TODAY, 28
    )
    assert (only.late, only.start) == (False, date(2027, 2, 9))


def test_skipped_and_finished_stages_hold_nobody_up():
    rows = date_stages(
        [stage(1, date(2027, 6, 1), skipped=True), stage(2, finished=True), stage(3)],
        TODAY,
        28,
    )
    assert [row.over for row in rows] == [True, True, False]
    assert rows[2].start == TODAY


def test_a_stage_ends_when_the_next_begins():
    first, second = date_stages(
        [stage(1, date(2027, 4, 1)), stage(2, date(2027, 4, 11))], TODAY, 28
    )
    assert first.end == second.start
