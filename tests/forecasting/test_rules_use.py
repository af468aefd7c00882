"""Expected use against reference tables, scipy, simulation, and its own parts."""

import csv
from math import inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inventory.errors import Refused
from inventory.forecasting.rules.bursts import Bursts
from inventory.forecasting.rules.spoilage import Beta, chance_enough, spoiled_at
from inventory.forecasting.rules.use import Belief, Use, chance_short, quantiles
from tests.forecasting.examples import FOLDER, cases

PROFILES = ("short_profile_0", "short_profile_2")
CASES = ("bnb_table_testsuite", *PROFILES)


def use(need, good=98.5, bad=1.5, bursts=None):
    return Use(need, Belief(good, bad, bursts))


@pytest.mark.parametrize("case", cases("bnb_table_testsuite"))
def test_the_reference_table_computed_with_forty_digits(case):
    rel = case["tolerance"]["rel"]
    text = (FOLDER / "bnb_reference_mpmath.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    assert len(rows) == 18
    for row in rows:
        k = int(row["k_bad_quantile"])
        found = use(int(row["N_good"]), float(row["a_good"]), float(row["b_bad"]))
        assert found.at(float(row["q"])) == k
        assert found.within(k) == pytest.approx(float(row["cdf_at_k"]), rel=rel)
        assert found.chances.pmf[k] == pytest.approx(float(row["pmf_at_k"]), rel=rel)
        if row["mean_bad"]:
            assert found.expected == pytest.approx(float(row["mean_bad"]), rel=rel)


@pytest.mark.parametrize("case", cases(*PROFILES))
def test_shortage_by_stage_is_that_of_the_cumulative_need(case):
    given_, expected = case["inputs"], case["expected"]
    need, before = 0, 1.0
    for i, asked in enumerate(given_["stages"]):
        need += asked
        found = use(need, given_["a_good"], given_["b_bad"])
        here = found.within(given_["stock"] - need)
        assert 1 - here == pytest.approx(expected["P_short_by_end"][i], abs=1e-9)
        runs_out = expected["P_runs_out_in_stage"][i]
        assert before - here == pytest.approx(runs_out, abs=1e-9)
        assert need + found.expected == pytest.approx(expected["exp_cum_pieces"][i])
        assert need + found.at(0.95) == expected["pieces_for_95pct"][i]
        before = here
    assert before == pytest.approx(expected["P_never"], abs=1e-9)


def test_stages_summed_by_their_own_quantiles_would_ask_for_the_wrong_number():
    # Given the chance, stages spoil alike: independent sums are too narrow.
    each, both = use(300, 60, 2), use(600, 60, 2)
    independent = each.chances.plus(each.chances)
    assert independent.at(0.95) < both.at(0.95)
    assert independent.expected == pytest.approx(both.expected, rel=1e-6)


@pytest.mark.slow
@given(need=st.integers(1, 3000), good=st.floats(3, 500), bad=st.floats(0.5, 50))
@settings(max_examples=50)
def test_moments_and_chances_are_scipys(need, good, bad):
    found, scipys = use(need, good, bad), stats.betanbinom(need, good, bad)
    assert found.expected == pytest.approx(float(scipys.mean()), rel=1e-9)
    assert found.sd == pytest.approx(float(scipys.std()), rel=1e-7)
    k = found.at(0.95)
    # Another way to the same number: P(K <= k) = P(BetaBin(N + k; a, b) >= N).
    other = stats.betabinom(need + k, good, bad)
    assert found.within(k) == pytest.approx(float(other.sf(need - 1)), abs=1e-8)
    assert found.within(k) >= 0.95 - 1e-12 > found.within(k - 1) - 1e-12


def test_it_is_the_present_spoilage_rule_without_bursts():
    for need in (0, 1, 40, 900, 12_000):
        assert use(need).at(0.99) == spoiled_at(0.99, need, Beta())
        chance = chance_enough(need, 30, Beta())
        assert use(need).within(30) == pytest.approx(chance, abs=1e-9)


def test_bursts_add_their_own_mean_and_variance():
    found = use(500, bursts=Bursts())
    assert found.expected == pytest.approx(found.chances.expected, rel=1e-6)
    assert found.sd == pytest.approx(found.chances.sd, rel=1e-5)
    assert found.at(0.95) > use(500).at(0.95)


def test_use_with_bursts_against_a_simulation():
    rng, worlds, need = np.random.default_rng(11), 200_000, 400
    spoiled = rng.negative_binomial(need, rng.beta(98.5, 1.5, worlds))
    number = rng.poisson(need * rng.gamma(1.0, 1 / 2000, worlds))
    # A sum of m geometric sizes from 1 is m plus a negative binomial.
    some = number > 0
    spoiled[some] += number[some] + rng.negative_binomial(number[some], 1 / 15)
    found = use(need, bursts=Bursts())
    for k in (0, 5, 10, 20, 40, 80):
        seen = float((spoiled <= k).mean())
        assert found.within(k) == pytest.approx(seen, abs=4 * 0.5 / worlds**0.5)


def _cells(seed, count):
    rng = np.random.default_rng(seed)
    return (
        rng.integers(0, 1500, count),
        rng.uniform(3, 600, count),
        rng.uniform(0.2, 20, count),
        rng.integers(-3, 60, count),
    )


@pytest.mark.slow
@pytest.mark.parametrize("share", [0.5, 0.95, 0.999])
def test_many_cells_at_once_equal_the_single_ones(share):
    needs, goods, bads, spares = _cells(3, 200)
    singles = [use(int(n), a, b) for n, a, b in zip(needs, goods, bads, strict=True)]
    assert quantiles(needs, goods, bads, share).tolist() == [
        each.at(share) for each in singles
    ]
    chances = [1 - e.within(int(s)) for e, s in zip(singles, spares, strict=True)]
    # A single one leaves out what is left beyond its end: under 1e-9.
    found = chance_short(needs, spares, goods, bads)
    assert found == pytest.approx(np.array(chances), abs=2e-9)


def test_cells_of_tens_of_thousands_do_not_underflow():
    needs, goods, bads = np.array([60_000]), np.array([500.0]), np.array([40.0])
    assert quantiles(needs, goods, bads, 0.95)[0] == use(60_000, 500.0, 40.0).at(0.95)


def test_no_cells_and_cells_without_need():
    nothing = np.array([], dtype=np.int64)
    assert quantiles(nothing, nothing * 1.0, nothing * 1.0, 0.95).size == 0
    zero, one = np.array([0]), np.array([1.0])
    assert quantiles(zero, one, one, 0.95)[0] == 0
    assert chance_short(zero, zero, one, one)[0] == 0


@pytest.mark.unmeasured
@pytest.mark.slow
def test_of_forty_thousand_cells_each_quantile_is_the_smallest_that_does():
    needs, goods, bads, _spares = _cells(5, 40_000)
    found = quantiles(needs, goods, bads, 0.95)
    short = chance_short(needs, found, goods, bads)
    assert short.max() <= 0.05 + 1e-12
    assert (chance_short(needs, found - 1, goods, bads)[found > 0] > 0.05 - 1e-12).all()


def test_what_has_no_bound_is_said_so():
    assert use(10, 0.9, 1).expected == inf
    assert use(10, 1.9, 1).sd == inf
    assert (use(0).expected, use(0).sd, use(0).at(0.99)) == (0, 0, 0)


@pytest.mark.parametrize("bad", [0.0, -1.0, inf, float("nan")])
def test_a_belief_without_pieces_is_refused(bad):
    with pytest.raises(Refused) as refused:
        Belief(10.0, bad)
    assert refused.value.code == "forecasting.belief"
    assert "expected" in refused.value.data


def test_a_need_below_zero_is_refused():
    with pytest.raises(Refused, match="need of 0 pieces or more; got -1"):
        use(-1)
