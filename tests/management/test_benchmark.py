"""The benchmark: figures beside a reference of the same run, over honest samples."""

import cProfile
import json
import re
from io import StringIO
from itertools import islice

import pytest
from django.core.management import CommandError, call_command

from inventory.management.measures import callouts, index, shape
from inventory.management.measures.callouts import samples
from inventory.management.measures.index import MEASURES
from inventory.management.measures.shape import Measure, MeasuredRow, rates
from inventory.trade import tables
from inventory.trade.callouts import parse

MOST_CALLS = 400
ROW = MeasuredRow(
    name="made",
    figure=1500.0,
    unit="a second",
    ratio=0.25,
    against="a reference",
    target=2000,
    how="one warm-up pass",
)


@pytest.fixture
def made(monkeypatch):
    """A measure of the test's own beside another, neither taking any time."""
    measures = (
        Measure(name="made", tells="what is made", take=lambda: (ROW,)),
        Measure(name="other", tells="another", take=lambda: (ROW, ROW)),
    )
    monkeypatch.setattr(index, "MEASURES", measures)


def benchmark(*words):
    out = StringIO()
    call_command("benchmark", *words, stdout=out)
    return out.getvalue().splitlines()


def test_a_row_says_ratio_target_and_whether_it_is_met(made):
    said, how = benchmark("made")
    assert said == (
        "made: 1,500 a second, 0.25 times a reference; target 2,000 a second: not met"
    )
    assert how.strip() == "one warm-up pass"


def test_every_row_is_a_line_of_json(made):
    found = [json.loads(each) for each in benchmark("--json")]
    assert len(found) == 3
    assert set(found[0]) == {
        *("name", "figure", "unit", "ratio", "against", "target", "met", "how")
    }
    assert found[0]["met"] is False


def test_a_target_is_met_from_itself_on_and_none_is_neither():
    figures = {"unit": "a second", "ratio": 1.0, "against": "itself", "how": "once"}
    for figure, target, met in ((20, 20, True), (19, 20, False), (19, None, None)):
        row = MeasuredRow(name="made", figure=figure, target=target, **figures)
        assert row.met is met
        assert ("target" in row.in_words()) == (target is not None)


def test_names_choose_each_once_and_an_unknown_one_is_said_first(made):
    assert len(benchmark("other", "made", "made")) == 6
    with pytest.raises(CommandError) as caught:
        benchmark("made", "speed")
    assert str(caught.value) == "Expected one of made, other; got 'speed'."


def test_measures_have_names_of_their_own():
    assert len({each.name for each in MEASURES}) == len(MEASURES)
    assert "callouts" in {each.name for each in MEASURES}


def test_rates_count_things_and_warm_up_once(monkeypatch):
    """A clock that the work itself turns: 3 s for one, 0.5 s for the other."""
    now, done = [0.0], []
    monkeypatch.setattr(shape.time, "perf_counter", lambda: now[0])

    def work(name, seconds):
        def run():
            done.append(name)
            now[0] += seconds

        return run

    assert rates(6, work("slow", 3.0), work("fast", 0.5)) == [2.0, 12.0]
    assert done == ["slow", "fast"] * (shape.PASSES + 1)


@pytest.mark.slow
def test_the_samples_are_many_different_and_of_every_standard():
    read = samples()
    assert len(read) >= 5000
    written = {reading.standard for reading in read.values()}
    assert written >= {row["standard"] for row in tables.rows("standards")}
    assert written >= {row["standard"] for row in tables.rows("bolts")}
    kinds = {row["kind"] for row in tables.rows("standards")} | {"bolt", "other"}
    assert {reading.kind for reading in read.values()} == kinds
    # Different parts too, but for one that is drawn under up to three numbers.
    assert len({reading.key for reading in read.values()}) > len(read) / 3


@pytest.mark.slow
def test_callouts_are_measured(monkeypatch):
    """On every fourth sample."""
    few = dict(islice(samples().items(), 0, None, 4))
    monkeypatch.setattr(callouts, "samples", lambda: few)
    row = json.loads(benchmark("callouts", "--json")[0])
    assert (row["name"], row["unit"], row["target"]) == ("callouts", "a second", 20000)
    assert row["ratio"] > 0
    assert "json.loads" in row["against"]
    assert re.search(
        r"[0-9],[0-9]{3} different callouts .* one warm-up pass", row["how"]
    )
    assert row["figure"] > 0


@pytest.mark.slow
def test_no_callout_takes_many_calls():
    """A reader gone quadratic, or through every table, is found without a clock."""
    for text in islice(samples(), 0, None, 10):
        profile = cProfile.Profile()
        profile.runcall(parse, text)
        calls = sum(row.callcount for row in profile.getstats())
        assert calls < MOST_CALLS, text
