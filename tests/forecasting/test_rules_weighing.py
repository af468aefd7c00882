"""Counting by weight: the guide's own examples, the table of counts, simulation."""

from math import cos, sin, sqrt

import numpy as np
import pytest

from inventory.errors import Refused
from inventory.forecasting.rules.scores import band
from inventory.forecasting.rules.weighing import (
    BLIND,
    ROUGH,
    SMALL,
    Sample,
    Scale,
    chance_exact,
    cv_of,
    largest_exact,
    propagated,
    rectangular,
    repeated,
    sample_for,
    spread,
    weigh,
)
from tests.forecasting.examples import cases, printed

SIMULATED = ("count_mc_0", "count_mc_2", "count_mc_4")
CASES = (
    "ea402_s2_weight",
    "gum_443_repeat",
    "gum_H2_ratio",
    "count_Nmax_table",
    *SIMULATED,
)


@pytest.mark.parametrize("case", cases("ea402_s2_weight"))
def test_a_published_budget_of_a_ten_kilogram_weight(case):
    given, expected = case["inputs"], case["expected"]
    parts = {
        "m_S": given["U_S_k2"] / 2,
        "drift": rectangular(given["drift_halfwidth"]),
        "dm": given["pooled_s"] / sqrt(given["n"]),
        "ecc": rectangular(given["ecc_halfwidth"]),
        "buoy": rectangular(given["buoy_halfwidth"]),
    }
    assert parts == pytest.approx(expected["u_parts"], rel=1e-9)
    found = propagated(np.ones(5), np.diag([u**2 for u in parts.values()]))
    assert found == pytest.approx(expected["u"], rel=1e-9)
    assert 2 * found == pytest.approx(expected["U_k2"], rel=1e-9)
    # The budget read pools three observations for dm: its total is 0.4 % less.
    assert found == pytest.approx(case["published"]["u"], rel=0.005)
    shares = [100 * u**2 / found**2 for u in parts.values()]
    assert shares == pytest.approx(case["published"]["contrib_percent"], abs=0.8)


@pytest.mark.parametrize("case", cases("gum_443_repeat"))
def test_twenty_readings_of_the_guide(case):
    found = repeated(case["inputs"])
    for value, name in zip(found, ("mean", "s", "u"), strict=True):
        assert value == pytest.approx(case["expected"][name], rel=1e-9)
        figure = case["published"][name]
        assert printed(value, figure) == figure


@pytest.mark.parametrize("case", cases("gum_H2_ratio"))
def test_three_readings_that_go_together_in_the_guide(case):
    readings = np.array([case["inputs"][name] for name in ("V", "I", "phi")])
    volts, amps, phase = readings.mean(axis=1)
    covariance = np.cov(readings) / readings.shape[1]
    ratio, expected = volts / amps, case["expected"]
    found = {
        "R": (
            ratio * cos(phase),
            [cos(phase) / volts, -cos(phase) / amps, -sin(phase)],
        ),
        "X": (ratio * sin(phase), [sin(phase) / volts, -sin(phase) / amps, cos(phase)]),
        "Z": (ratio, [1 / volts, -1 / amps, 0.0]),
    }
    for name, (value, slopes) in found.items():
        u = propagated(ratio * np.array(slopes), covariance)
        assert value == pytest.approx(expected[name], rel=1e-9)
        assert u == pytest.approx(expected[f"u{name}"], rel=1e-9)
        assert value == pytest.approx(case["published"][name][0], abs=0.0006)
        assert u == pytest.approx(case["published"][name][1], abs=0.0011)


@pytest.mark.parametrize("case", cases("count_Nmax_table"))
def test_the_largest_count_that_is_exact(case):
    assert len(case["expected"]) == 18
    for row in case["expected"]:
        assert largest_exact(row["n"], row["cv"], 0.0) == row["N_max"]
        assert largest_exact(row["n"], row["cv"], 0.1) == row["N_max_with_scale"]
    # The page's own table: n = 10, 50, 100.
    for cv, counts in ((0.005, (156, 336, 462)), (0.02, (35, 68, 87))):
        assert tuple(largest_exact(n, cv, 0.0) for n in (10, 50, 100)) == counts


def _of(case):
    given = case["inputs"]
    sample = Sample(given["n"], given["n"] * given["mu_g"], given["cv"])
    return sample, Scale(given["d_g"]), given["N"] * given["mu_g"]


@pytest.mark.parametrize("case", cases(*SIMULATED))
def test_counts_that_were_simulated(case):
    sample, scale, net = _of(case)
    found, expected = weigh(net + 12.5, 12.5, sample, scale), case["expected"]
    assert found.count == case["inputs"]["N"]
    assert found.sd == pytest.approx(expected["sd_delta"], rel=1e-9)
    assert found.chance_exact == pytest.approx(expected["P_exact_delta"], rel=1e-9)
    assert found.sample_wanted == expected["n_required"]
    # Where the formula says it is not rough, it agrees with the simulation.
    off = abs(found.chance_exact - expected["P_exact_mc"])
    assert (off > case["tolerance"]["mc_abs"]) == found.rough


@pytest.mark.parametrize("case", cases(*SIMULATED[:2]))
def test_a_simulation_of_our_own_agrees(case):
    sample, scale, net = _of(case)
    rng, runs = np.random.default_rng(6), 50_000
    piece, number, n = sample.piece, case["inputs"]["N"], sample.pieces

    def weighed(pieces):
        true = pieces * piece + sample.cv * piece * sqrt(pieces) * rng.normal(size=runs)
        half = scale.division / 2
        return true + rng.uniform(-half, half, (2, runs)).sum(axis=0)

    bulk, samples = weighed(number), weighed(n)
    exact = (np.rint(bulk / (samples / n)) == number).mean()
    found = weigh(net, 0.0, sample, scale)
    assert found.chance_exact == pytest.approx(exact, abs=0.01)
    # Each span from its own weighing: it must hold the true count 19 times in 20.
    missed, tries = 0, 2000
    for gross, mass in zip(bulk[:tries], samples[:tries], strict=True):
        own = weigh(gross, 0.0, Sample(n, mass, sample.cv), scale)
        missed += not own.low <= number <= own.high
    assert missed <= band(tries)[1]


def truly_exact(number, sample, scale):
    """How often the count is right, on a scale that rounds: simulated."""
    rng, runs = np.random.default_rng(7), 100_000
    piece = sample.piece * rng.uniform(0.95, 1.05, runs)

    def weighed(pieces):
        true = pieces * piece * (1 + sample.cv / sqrt(pieces) * rng.normal(size=runs))
        tare = rng.uniform(0, 50 * scale.division, runs)
        both = [np.rint(each / scale.division) for each in (true + tare, tare)]
        return (both[0] - both[1]) * scale.division

    found = weighed(number) / (weighed(sample.pieces) / sample.pieces)
    return (np.rint(found) == number).mean()


@pytest.mark.parametrize(("pieces", "is_small"), [(10, True), (60, False)])
def test_a_small_sample_of_many_says_so_where_the_scale_rounds_too_much_of_it(
    pieces, is_small
):
    sample, scale = Sample(pieces, pieces * 0.162, 0.005), Scale(0.03)
    found = weigh(60 * 0.162, 0.0, sample, scale)
    off = found.chance_exact - truly_exact(60, sample, scale)
    assert (off > 0.05) == is_small
    assert found.notes == ((SMALL, BLIND) if is_small else (BLIND,))
    assert found.rough == is_small


@pytest.mark.parametrize(("pieces", "percent"), [(20, 6.0), (100, 1.2)])
def test_small_rivets_on_a_tenth_of_a_gram(pieces, percent):
    # 3/32 flush -3.5, about 81 mg (from memory): 20 give +/-6 %, 100 +/-1.2 % (computed).
    # One division is 6 % of 1.6 g, and 1.2 % of 8.1 g.
    assert 100 * 0.1 / (pieces * 0.081) == pytest.approx(percent, abs=0.2)
    found = weigh(81.0, 0.0, Sample(pieces, pieces * 0.081, 0.01), Scale(0.1))
    assert found.count == 1000
    assert found.low < 1000 < found.high
    assert (found.high - 1000) / 1000 < percent / 100
    assert (found.rough, found.is_exact) == (True, False)
    assert found.notes == (ROUGH, BLIND)


def test_a_rough_count_is_never_one_number():
    found = weigh(4.0, 0.0, Sample(1000, 400.0, 0.0001), Scale(0.09))
    assert (found.count, found.words) == (10, "9 to 11")


def test_a_doubtful_count_is_said_as_a_span():
    found = weigh(280.0, 0.0, Sample(50, 20.0, 0.01), Scale(0.01))
    assert found.count == 700
    assert found.words == f"{found.low} to {found.high}"
    assert found.sample_wanted is None
    assert 0 < found.lot < 700
    assert found.notes == (BLIND,)


def test_lots_and_samples_do_what_they_promise():
    for cv, unit, pieces in ((0.01, 0.02, 20), (0.002, 0.05, 50), (0.02, 0.0, 10)):
        lot = largest_exact(pieces, cv, unit)
        assert chance_exact(spread(lot, pieces, cv, unit)) >= 0.95
        assert chance_exact(spread(lot + 1, pieces, cv, unit)) < 0.95
        wanted = sample_for(lot, cv, unit)
        assert wanted is not None
        assert wanted <= pieces
        assert chance_exact(spread(lot, wanted, cv, unit)) >= 0.95
        assert wanted == 1 or chance_exact(spread(lot, wanted - 1, cv, unit)) < 0.95
    assert largest_exact(10, 0.01, 0.3) == 0


def test_an_exact_count_is_one_number():
    found = weigh(4.0, 0.0, Sample(20, 8.0, 0.005), Scale(0.001))
    assert (found.count, found.words, found.is_exact) == (10, "10", True)


def test_the_spread_of_a_piece_without_the_scales_own():
    rng = np.random.default_rng(1)
    true = rng.normal(0.4, 0.008, 4000)
    read = np.rint(true / 0.01) * 0.01
    assert np.std(read) / np.mean(read) > 0.0205
    assert cv_of(list(read), Scale(0.01)) == pytest.approx(0.02, rel=0.03)
    assert cv_of([0.4, 0.4], Scale(0.1)) == 0.0


@pytest.mark.parametrize(
    "ask",
    [
        lambda: Scale(0.0),
        lambda: Sample(0, 1.0, 0.01),
        lambda: Sample(10, 0.0, 0.01),
        lambda: weigh(1.0, 2.0, Sample(10, 4.0, 0.01), Scale(0.01)),
        lambda: repeated([1.0]),
        lambda: largest_exact(10, 0.0, 0.0),
    ],
)
def test_what_cannot_be_weighed_is_refused(ask):
    with pytest.raises(Refused) as refused:
        ask()
    assert refused.value.code == "forecasting.weighing"
    assert refused.value.data["expected"] in refused.value.sentence
