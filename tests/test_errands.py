"""What a request leaves to another thread: done once, off the request, never waited for."""

import threading

import pytest

from inventory.errands import BREAK, Errands

PATIENCE = 60


@pytest.fixture
def held():
    """Errands whose first one is under way and ends when the event is set."""
    clock, go, began = [0.0], threading.Event(), threading.Event()
    errands = Errands(lambda: clock[0])

    def first():
        began.set()
        go.wait(PATIENCE)

    assert errands.send("first", first)
    began.wait(PATIENCE)
    yield errands, clock, go
    go.set()


def test_an_errand_runs_on_another_thread_and_its_name_waits_once(held):
    errands, _clock, go = held
    ran = []

    def note():
        ran.append(threading.current_thread())

    assert [errands.send("note", note) for _ in range(3)] == [True, False, False]
    assert ran == []
    go.set()
    assert errands.wait(PATIENCE)
    assert len(ran) == 1
    assert ran[0] is not threading.current_thread()
    assert errands.send("note", note)
    assert errands.wait(PATIENCE)
    assert len(ran) == 2


def test_many_of_one_errand_become_one_and_another_goes_before_it(held):
    errands, _clock, go = held
    ran, began, other = [], threading.Event(), threading.Event()
    go.set()
    assert errands.wait(PATIENCE)

    def first():
        ran.append("first")
        began.set()

    errands.send("first", first)
    assert began.wait(PATIENCE)
    for _ in range(9):
        errands.send("first", lambda: ran.append("again"))
    errands.send("other", lambda: (ran.append("other"), other.set()))
    assert other.wait(PATIENCE)
    assert ran[:2] == ["first", "other"]
    assert errands.wait(PATIENCE)
    assert ran == ["first", "other", "again"]


def test_after_a_failure_all_have_a_break_and_then_go_on(held):
    errands, clock, go = held
    ran = []
    errands.send("fails", lambda: 1 / 0)
    errands.send("behind it", lambda: ran.append("behind it"))
    go.set()
    assert errands.wait(PATIENCE)
    clock[0] = BREAK - 1
    assert not errands.send("too soon", lambda: ran.append("too soon"))
    clock[0] = BREAK
    assert errands.send("in time", lambda: ran.append("in time"))
    assert errands.wait(PATIENCE)
    assert ran == ["in time"]


def test_waiting_ends_before_the_errand_where_it_takes_too_long(held):
    errands, _clock, _go = held
    assert not errands.wait(0)
