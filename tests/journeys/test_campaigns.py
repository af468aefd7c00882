"""A small campaign in every run; the large one is `python -m tests.campaigns`."""

import pytest

from tests.campaigns.kills import kills

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
SEED = 2027


@pytest.mark.unmeasured
def test_kills_lose_nothing_and_double_nothing():
    assert kills(4, SEED) == []


@pytest.mark.unmeasured
def test_a_bench_that_notes_too_early_is_found_out():
    assert any(each.startswith("lost") for each in kills(4, SEED, unsafe=True))
