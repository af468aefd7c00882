"""`rehearse`: the same seed gives the same print, and what is missed is said."""

import json
from dataclasses import replace
from functools import partial
from io import StringIO

import numpy as np
import pytest
from django.core.management import CommandError, call_command

from inventory.management.commands import rehearse
from inventory.rehearsal.judging import Calibration
from inventory.rehearsal.policy.habits import PlanAndLook, PlanPlusTenth
from inventory.rehearsal.policy.product import Gripcount
from inventory.rehearsal.report import as_data, in_words
from inventory.rehearsal.trials import (
    AIRCRAFT,
    HABITS,
    BuildSource,
    Fare,
    Rehearsal,
    Series,
    targets,
)
from inventory.rehearsal.world.worlds import WORLDS
from tests.rehearsal.rehearsed import small


def run(*words):
    out, err = StringIO(), StringIO()
    call_command("rehearse", *words, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


@pytest.fixture
def quick(monkeypatch):
    """Aircraft of 120 rivets, whose builds take a second."""
    source = partial(BuildSource, rivets=120)
    monkeypatch.setattr(rehearse, "demo", lambda: small(3, 120)[0])
    monkeypatch.setattr(rehearse, "BuildSource", source)


@pytest.mark.unmeasured
@pytest.mark.slow
def test_the_same_seed_gives_the_same_print_and_nothing_else(quick):
    first = run("--builds", "2", "--seed", "5")
    assert first == run("--builds", "2", "--seed", "5")
    assert first[0] != run("--builds", "1", "--seed", "6")[0]
    assert "moody hands, random: 2 of 2 builds" in first[1]
    assert "2 of 2 builds" not in first[0]
    assert first[0].startswith("2 builds of each aircraft in each world, seed 5")


@pytest.mark.slow
def test_json_is_one_line_of_the_same_figures(quick):
    said, _err = run("--builds", "1", "--seed", "5", "--json")
    found = json.loads(said)
    words, _err = run("--builds", "1", "--seed", "5")
    assert len(said.splitlines()) == 1
    assert (found["builds"], found["seed"]) == (1, 5)
    assert len(found["series"]) == len(WORLDS) * len(AIRCRAFT)
    for series in found["series"]:
        assert len(series["ways"]) == len(HABITS) + 1
        for fare in series["ways"].values():
            assert f"{fare['money']:,.2f}" in words
    for rows in found["calibration"].values():
        assert [each["share"] for each in rows] == [0.5, 0.8, 0.95]


def test_the_demos_plan_is_read_from_its_file():
    needs = rehearse.demo().needs()
    assert needs.sum() > 10_000
    assert (needs.sum(axis=1) > 0).all()


@pytest.mark.parametrize("words", [("--builds", "0"), ("--seed", "-1")])
def test_what_cannot_be_drawn_is_refused(words):
    with pytest.raises(CommandError, match="Expected 1 build or more"):
        run(*words)


def fares(ours, tenth, looks):
    """Two builds' fares of three ways by (stages stopped, money)."""
    named = {PlanPlusTenth.name: tenth, PlanAndLook.name: looks, Gripcount.name: ours}
    return {
        name: [Fare(stopped, 2.0, 3.0, money, 100.0, 4.0, 5.0, 6.0)] * 2
        for name, (stopped, money) in named.items()
    }


def compared(*of):
    return targets(fares(*of), np.random.default_rng(1))


@pytest.mark.parametrize(
    ("ours", "found"),
    [
        ((0.03, 500.0), [(True, True), (True, True)]),
        ((0.031, 500.01), [(False, False), (True, True)]),
        ((0.5, 900.0), [(False, False), (False, True)]),
    ],
)
def test_goals_are_a_share_of_a_habits_stops_at_no_more_money(ours, found):
    reached = compared(ours, (0.3, 500.0), (0.4, 1000.0))
    assert [(each.stops_reached, each.money_reached) for each in reached] == found


def test_a_habit_that_never_stopped_leaves_no_ratio():
    first = compared((0.0, 1.0), (0.0, 2.0), (1.0, 2.0))[0]
    assert first.ratio is None
    assert first.stops_reached
    assert not compared((0.1, 1.0), (0.0, 2.0), (1.0, 2.0))[0].stops_reached


def test_the_interval_is_of_builds_drawn_again():
    """Ten builds of which one stopped, against ten of which five did."""
    ways = fares((0.0, 1.0), (0.0, 1.0), (0.0, 1.0))
    for name, stops in ((Gripcount.name, 1), (PlanPlusTenth.name, 5)):
        one, none = replace(ways[name][0], stopped=1.0), ways[name][0]
        ways[name] = [one] * stops + [none] * (10 - stops)
    ways[PlanAndLook.name] *= 5
    first = targets(ways, np.random.default_rng(1))[0]
    assert first.ratio == pytest.approx(0.2)
    assert first.low == 0
    assert 0.4 <= first.high <= 0.8


def rehearsal(ours):
    found = fares(ours, (0.3, 500.0), (0.4, 1000.0))
    means = {name: Fare.mean(each) for name, each in found.items()}
    aims = targets(found, np.random.default_rng(1))
    said = Calibration(0.95, 400, 0.951, 0.97, 20, 4, 0, 3)
    series = Series("steady hands", "demo", means, aims)
    return Rehearsal(20, 1, [series], {"steady hands": [said]})


def test_words_say_by_how_much_a_target_is_missed():
    said = in_words(rehearsal((0.06, 520.0)))
    assert (
        "Against plan plus 10 %: 0.20 of its stops (0.20 to 0.20 with 95 %; goal 0.10), "
        "not reached; 20.00 more money, not reached; 0 fewer minutes."
    ) in said
    assert "480.00 less money, reached" in said
    assert "4 misses of 20, out of the exact binomial band 0 to 3." in said


def test_an_interval_without_an_end_is_said_in_words():
    """One stop in ten builds: a third of the draws have none of them."""
    ways = fares((0.0, 1.0), (0.0, 1.0), (0.0, 1.0))
    for name, stops in ((Gripcount.name, 2), (PlanPlusTenth.name, 1)):
        one, none = replace(ways[name][0], stopped=1.0), ways[name][0]
        ways[name] = [one] * stops + [none] * (10 - stops)
    ways[PlanAndLook.name] *= 5
    aims = targets(ways, np.random.default_rng(1))
    means = {name: Fare.mean(each) for name, each in ways.items()}
    series = Series("steady hands", "demo", means, aims)
    said = in_words(Rehearsal(20, 1, [series], {}))
    assert "2.00 of its stops (0.00 to any number with 95 %; goal 0.10)" in said


def test_data_say_the_same():
    found = as_data(rehearsal((0.06, 520.0)))
    first = found["series"][0]["targets"][0]
    assert (round(first["ratio"], 4), first["dearer"]) == (0.2, 20.0)
    assert not first["stops_reached"]
    assert found["calibration"]["steady hands"][0]["in_band"] is False
