"""`rehearse`: the same seed gives the same print, and what is missed is said."""

import json
from functools import partial
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from inventory.management.commands import rehearse
from inventory.rehearsal import trials
from inventory.rehearsal.judging import Calibration
from inventory.rehearsal.report import as_data, in_words
from inventory.rehearsal.trials import Fare, Rehearsal, Series, targets
from inventory.rehearsal.world.aircraft import at_random
from tests.rehearsal.rehearsed import small


def run(*words):
    out, err = StringIO(), StringIO()
    call_command("rehearse", *words, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


@pytest.fixture
def quick(monkeypatch):
    """Aircraft of 250 rivets, and a trade-off of one."""
    monkeypatch.setattr(rehearse, "demo", lambda: small(3, 250)[0])
    monkeypatch.setattr(trials, "at_random", partial(at_random, rivets=250))
    monkeypatch.setattr(trials, "SPENT", (30.0,))


@pytest.mark.slow
def test_the_same_seed_gives_the_same_print(quick):
    first = run("--builds", "2", "--seed", "5", "--curve")
    assert first == run("--builds", "2", "--seed", "5", "--curve")
    assert first[0] != run("--builds", "1", "--seed", "6")[0]
    assert "random: 2 of 2 builds" in first[1]
    assert "random: 2 of 2 builds" not in first[0]
    assert first[0].count("+30 money") == 2


@pytest.mark.slow
def test_json_is_one_line_of_the_same_figures(quick):
    said, _err = run("--builds", "1", "--seed", "5", "--json")
    found = json.loads(said)
    words, _err = run("--builds", "1", "--seed", "5")
    assert len(said.splitlines()) == 1
    assert (found["builds"], found["seed"]) == (1, 5)
    for series in found["aircraft"]:
        for fare in series["ways"].values():
            assert f"{fare['money']:,.2f}" in words
    assert [each["share"] for each in found["calibration"]] == [0.5, 0.8, 0.95]


@pytest.mark.slow
def test_the_demos_plan_is_read_from_its_file(monkeypatch):
    monkeypatch.setattr(trials, "AIRCRAFT", ("demo",))
    monkeypatch.setattr(trials, "SPENT", (80.0,))
    said, _err = run("--builds", "1")
    assert "demo aircraft" in said
    needs = rehearse.demo().needs()
    assert needs.sum() > 10_000
    assert (needs.sum(axis=1) > 0).all()


@pytest.mark.parametrize("words", [("--builds", "0"), ("--seed", "-1")])
def test_what_cannot_be_drawn_is_refused(words):
    with pytest.raises(CommandError, match="Expected 1 build or more"):
        run(*words)


def fares(ours, tenth, levels):
    """Fares of the three ways by (stages stopped, money)."""
    named = {"plan plus 10 %": tenth, "keep levels": levels, "Gripcount": ours}
    return {
        name: Fare(stopped, 2.0, 3.0, money, 100.0, 4.0)
        for name, (stopped, money) in named.items()
    }


@pytest.mark.parametrize(
    ("ours", "found"),
    [
        ((0.03, 500.0), [(True, True), (True, True)]),
        ((0.031, 500.01), [(False, False), (True, True)]),
        ((0.5, 900.0), [(False, False), (False, True)]),
    ],
)
def test_a_target_is_a_tenth_of_the_stops_at_no_more_money(ours, found):
    compared = targets(fares(ours, (0.3, 500.0), (4.0, 1000.0)))
    assert [(each.stops_reached, each.money_reached) for each in compared] == found


def test_a_habit_that_never_stopped_leaves_no_ratio():
    compared = targets(fares((0.0, 1.0), (0.0, 2.0), (1.0, 2.0)))[0]
    assert compared.ratio is None
    assert compared.stops_reached


def rehearsal(ours, curve):
    compared = fares(ours, (0.3, 500.0), (4.0, 1000.0))
    series = Series("demo", compared, curve)
    said = Calibration(0.95, 400, 0.951, 0.97, 20, 4, 0, 3)
    return Rehearsal(20, 1, [series], [said])


def test_words_say_by_how_much_a_target_is_missed():
    curve = {80.0: Fare(0.01, 0, 1, 640.0, 10, 3)}
    said = in_words(rehearsal((0.06, 520.0), curve))
    assert (
        "Against plan plus 10 %: 0.20 of its stops (target 0.10), not reached; "
        "20.00 more money, not reached."
    ) in said
    assert "480.00 less money, reached." in said
    assert "+80 money" in said
    assert "4 misses of 20, out of the exact binomial band 0 to 3." in said


def test_data_say_the_same():
    found = as_data(rehearsal((0.06, 520.0), {}))
    first = found["aircraft"][0]["targets"][0]
    assert (first["stops_ratio"], first["dearer"]) == (0.2, 20.0)
    assert not first["stops_reached"]
    assert found["calibration"][0]["in_band"] is False
