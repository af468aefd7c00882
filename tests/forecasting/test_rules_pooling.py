"""Partial pooling against published hierarchical and single-group examples."""

import numpy as np
import pytest
from scipy import optimize, special, stats

from inventory.errors import Refused
from inventory.forecasting.rules import pooling
from inventory.forecasting.rules.pooling import by_person, grid_of, pooled, posterior
from inventory.forecasting.rules.spoilage import Beta
from tests.forecasting.examples import cases, printed

CASES = ("placenta_previa", "surgical_fixed", "rats_partial_pooling")
GUESS = Beta()


def record(bad, tries):
    return Beta(good=tries - bad, bad=bad)


@pytest.fixture(scope="module")
def rats():
    return cases("rats_partial_pooling")[0].values[0]


@pytest.mark.parametrize("case", cases("placenta_previa"))
def test_one_group_with_a_flat_prior(case):
    y, n = case["inputs"]["successes"], case["inputs"]["trials"]
    found = Beta(1, 1).seen(good=n - y, bad=y)
    expected, published = case["expected"], case["published"]
    assert found.rate == pytest.approx(expected["mean"], rel=1e-9)
    interval = stats.beta(found.bad, found.good).ppf([0.025, 0.975])
    assert interval == pytest.approx(expected["ci"], rel=1e-9)
    assert [found.rate, *interval] == pytest.approx(published["read_page"], abs=5e-9)


@pytest.mark.parametrize("case", cases("surgical_fixed"))
def test_twelve_groups_each_alone(case):
    deaths, operations = case["inputs"]["r"], case["inputs"]["n"]
    for i, (r, n) in enumerate(zip(deaths, operations, strict=True)):
        found = Beta(1, 1).seen(good=n - r, bad=r)
        sd = float(stats.beta(found.bad, found.good).std())
        assert found.rate == pytest.approx(case["expected"]["mean"][i], rel=1e-9)
        assert sd == pytest.approx(case["expected"]["sd"][i], rel=1e-9)
        if f"p{i + 1}" in case["published"]:
            # Published by simulation of 10,000 draws.
            mean, spread = case["published"][f"p{i + 1}"]
            assert found.rate == pytest.approx(mean, abs=4 * spread / 100)
            assert sd == pytest.approx(spread, rel=0.03)


@pytest.mark.parametrize("case", cases("rats_partial_pooling"))
def test_seventy_one_groups_pooled(case):
    rows = [
        record(y, n)
        for y, n in zip(case["inputs"]["y"], case["inputs"]["n"], strict=True)
    ]
    found = pooled({f"{i}": row for i, row in enumerate(rows)})
    means = [found.classes[f"{i}"].rate for i in range(len(rows))]
    assert means == pytest.approx(case["expected"]["theta_post"], rel=1e-3)
    grid = grid_of(rows)
    mean_alpha = float((grid.weight * grid.alpha).sum())
    mean_beta = float((grid.weight * grid.beta).sum())
    assert mean_alpha == pytest.approx(case["expected"]["EA"], rel=2e-3)
    assert mean_beta == pytest.approx(case["expected"]["EB"], rel=2e-3)
    assert printed(mean_alpha, 2.4) == case["published"]["EA"]
    assert printed(mean_beta, 14.3) == case["published"]["EB"]


def test_the_grids_mode_is_the_published_one(rats):
    rows = [record(y, n) for y, n in zip(*_data(rats), strict=True)]
    grid = grid_of(rows)
    top = np.unravel_index(grid.weight.argmax(), grid.weight.shape)
    alpha, beta = grid.alpha[top], grid.beta[top]
    found = np.log(alpha / beta), np.log(alpha + beta)
    # Published to about a twentieth.
    assert found == pytest.approx(rats["published"]["mode_uv"], abs=0.07)


def _data(rats):
    return rats["inputs"]["y"], rats["inputs"]["n"]


def test_the_likelihood_on_the_grid_peaks_at_the_published_estimate(rats):
    y, n = (row[:70] for row in _data(rats))

    def less(at):
        alpha, beta = np.exp(at)
        return -sum(
            special.betaln(alpha + a, beta + b - a) - special.betaln(alpha, beta)
            for a, b in zip(y, n, strict=True)
        )

    # An oracle of its own, checked on the published figure ...
    best = np.exp(optimize.minimize(less, [0.5, 2.0], tol=1e-10).x)
    assert best == pytest.approx(rats["expected"]["mle70"], rel=1e-4)
    assert best == pytest.approx(rats["published"]["mle70"], rel=1e-4)
    # ... then the grid's weights without the hyperprior must rank cells as it does.
    grid = grid_of([record(a, b) for a, b in zip(y, n, strict=True)])
    for i, j in ((10, 20), (40, 50), (70, 80)):
        alpha, beta = grid.alpha[i, j], grid.beta[i, j]
        own = np.log(grid.weight[i, j] / grid.weight[40, 60])
        own -= _hyper(alpha, beta) - _hyper(grid.alpha[40, 60], grid.beta[40, 60])
        other = less(np.log([grid.alpha[40, 60], grid.beta[40, 60]])) - less(
            np.log([alpha, beta])
        )
        assert own == pytest.approx(other, abs=1e-8)


def _hyper(alpha, beta):
    return np.log(alpha * beta) - 2.5 * np.log(alpha + beta)


def test_moments_of_the_seventy_and_the_last_under_them(rats):
    y, n = (np.array(row[:70]) for row in _data(rats))
    rates = y / n
    mean, sd = rates.mean(), rates.std(ddof=1)
    assert (mean, sd) == pytest.approx(
        (rats["expected"]["mean70"], rats["expected"]["sd70"]), rel=1e-9
    )
    strength = mean * (1 - mean) / sd**2 - 1
    prior = Beta(good=(1 - mean) * strength, bad=mean * strength)
    assert [prior.bad, prior.good] == pytest.approx(rats["expected"]["moments70"])
    last = prior.seen(good=10, bad=4)
    fixed = rats["expected"]["theta71_fixedprior"]
    assert [last.bad, last.good] == pytest.approx(fixed["post"])
    assert last.rate == pytest.approx(fixed["mean"])
    assert float(stats.beta(last.bad, last.good).std()) == pytest.approx(fixed["sd"])
    assert printed(last.rate, 0.223) == rats["published"]["theta71_fixed"][0]


@pytest.mark.slow
def test_a_finer_grid_changes_the_fourth_digit_at_most(rats, monkeypatch):
    pairs = zip(*_data(rats), strict=True)
    rows = {f"{i}": record(y, n) for i, (y, n) in enumerate(pairs)}
    here = pooled(rows).classes["70"]
    monkeypatch.setattr(pooling, "FINE", (201, 251))
    finer = pooled(rows).classes["70"]
    assert here.rate == pytest.approx(finer.rate, rel=1e-4)
    assert here.good == pytest.approx(finer.good, rel=1e-3)


def test_each_belief_has_the_mixtures_mean_and_variance():
    rows = [record(2, 400), record(30, 900)]
    grid, row = grid_of(rows, GUESS), rows[1]
    rng = np.random.default_rng(2)
    at = rng.choice(grid.weight.size, 200_000, p=grid.weight.ravel())
    alpha = np.broadcast_to(grid.alpha, grid.weight.shape).ravel()[at]
    beta = np.broadcast_to(grid.beta, grid.weight.shape).ravel()[at]
    drawn = rng.beta(alpha + row.bad, beta + row.good)
    found = posterior(grid, row)
    assert found.rate == pytest.approx(drawn.mean(), rel=0.003)
    sd = float(stats.beta(found.bad, found.good).std())
    assert sd == pytest.approx(drawn.std(), rel=0.01)


def test_a_class_borrows_from_the_others_and_the_more_the_thinner_its_record():
    found = pooled({"thin": record(3, 30), "thick": record(300, 3000)}, GUESS)
    alone = 0.1
    assert found.classes["thin"].rate < alone
    assert abs(found.classes["thick"].rate - alone) < abs(
        found.classes["thin"].rate - alone
    )
    assert found.of("never used") == found.population
    assert found.population.good < found.classes["thick"].good


def test_with_no_record_at_all_the_population_is_the_guess():
    found = pooled({}, GUESS).of("any")
    assert found.rate == pytest.approx(GUESS.rate, rel=0.01)
    assert found.good + found.bad == pytest.approx(GUESS.good + GUESS.bad, rel=0.1)


def test_clean_records_lower_every_class_and_the_thinner_record_less():
    found = pooled({"a": record(0, 5000), "b": record(0, 20)}, GUESS)
    assert 0 < found.classes["a"].rate < found.classes["b"].rate
    assert found.classes["b"].rate < found.population.rate < GUESS.rate
    with pytest.raises(Refused) as refused:
        pooled({"a": record(0, 500)})
    assert refused.value.code == "forecasting.pool"


@pytest.mark.slow
def test_pooled_beliefs_lie_nearer_the_truth_than_each_class_alone():
    rng, pooled_off, alone_off = np.random.default_rng(9), 0.0, 0.0
    for _ in range(20):
        truth = rng.beta(3, 300, 10)
        tries = rng.integers(20, 600, 10)
        rows = [
            record(int(b), int(n))
            for b, n in zip(rng.binomial(tries, truth), tries, strict=True)
        ]
        found = pooled({f"{i}": row for i, row in enumerate(rows)}, GUESS)
        means = np.array([found.classes[f"{i}"].rate for i in range(10)])
        alone = np.array([GUESS.seen(row.good, row.bad).rate for row in rows])
        pooled_off += float(((means - truth) ** 2).sum())
        alone_off += float(((alone - truth) ** 2).sum())
    assert pooled_off < 0.9 * alone_off


def test_people_count_only_when_two_have_some_hundreds_of_tries():
    population = Beta(400, 6)
    assert by_person({"Ada": record(5, 900)}, population) == {}
    assert by_person({"Ada": record(5, 900), "Bo": record(9, 40)}, population) == {}
    found = by_person(
        {"Ada": record(5, 900), "Bo": record(40, 800), "Cy": record(1, 10)}, population
    )
    assert set(found) == {"Ada", "Bo"}
    assert 5 / 900 < found["Ada"].rate < found["Bo"].rate < 40 / 800
