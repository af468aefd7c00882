"""Need plus spoilage, against scipy and 40-digit reference values.

References: scipy.stats.betanbinom and betabinom; tests/checks/maths, whose values are
computed with mpmath (computed); cumulative shortage profiles (computed, closed form and
simulation).
"""

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inventory.forecasting.rules.spoilage import (
    Beta,
    chance_enough,
    expected_spoiled,
    spoiled_at,
)

TABLE = Path(__file__).parent.parent / "checks" / "maths" / "bnb_reference_mpmath.csv"
ROWS = list(csv.DictReader(TABLE.read_text().splitlines()))


@pytest.mark.parametrize(
    "row", ROWS, ids=lambda r: f"{r['N_good']}-{r['a_good']}-{r['q']}"
)
def test_the_reference_table_computed_with_mpmath(row):
    need, k = int(row["N_good"]), int(row["k_bad_quantile"])
    belief = Beta(float(row["a_good"]), float(row["b_bad"]))
    assert spoiled_at(float(row["q"]), need, belief) == k
    assert chance_enough(need, k, belief) == pytest.approx(
        float(row["cdf_at_k"]), rel=1e-9
    )
    if row["mean_bad"]:
        assert expected_spoiled(need, belief) == pytest.approx(float(row["mean_bad"]))


@given(
    need=st.integers(1, 3000),
    spare=st.integers(0, 200),
    a=st.floats(2, 500),
    b=st.floats(0.5, 50),
)
def test_the_chance_is_the_beta_binomials_too(need, spare, a, b):
    # P(K <= k) = P(BetaBin(N + k; a, b) >= N): an independent way to the same number.
    other = stats.betabinom(need + spare, a, b).sf(need - 1)
    assert chance_enough(need, spare, Beta(a, b)) == pytest.approx(other, abs=1e-8)


@pytest.mark.parametrize("need", [1, 30, 700, 4200])
def test_scipys_distribution_agrees(need):
    scipys = stats.betanbinom(need, 98.5, 1.5)
    for spare in (0, 1, 5, 40):
        assert chance_enough(need, spare, Beta()) == pytest.approx(
            scipys.cdf(spare), rel=1e-9
        )


@pytest.mark.parametrize(
    ("stock", "stages", "belief", "short", "for_95"),
    [
        (
            140,
            [40, 60, 30],
            Beta(98, 2),
            [9.992007221626409e-16, 3.625831856979289e-10, 0.01358541726571283],
            [43, 106, 138],
        ),
        (
            1000,
            [300, 300, 300],
            Beta(60, 2),
            [0.0, 3.3590907833058736e-12, 0.013742504398823963],
            [326, 650, 975],
        ),
    ],
)
def test_shortage_profiles_computed_by_closed_form(
    stock, stages, belief, short, for_95
):
    need = 0
    for asked, chance, pieces in zip(stages, short, for_95, strict=True):
        need += asked
        assert 1 - chance_enough(need, stock - need, belief) == pytest.approx(
            chance, abs=1e-9
        )
        assert need + spoiled_at(0.95, need, belief) == pieces


def test_nothing_needed_is_never_short():
    assert chance_enough(0, 0, Beta()) == 1
    assert chance_enough(5, -1, Beta()) == 0


def test_a_poor_record_asks_for_more():
    poor = Beta().seen(good=900, bad=100)
    assert spoiled_at(0.95, 500, poor) > spoiled_at(0.95, 500, Beta().seen(1000, 2))
