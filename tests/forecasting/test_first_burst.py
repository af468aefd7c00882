"""Rework before the first assembly is closed does not poison what is forecast after it."""

import pytest

from inventory.forecasting.queries.readiness import readiness
from inventory.ledger.actions import verbs
from inventory.planning.actions.importing import apply, preview
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly

pytestmark = pytest.mark.django_db
PLAN = b"""stage,start,assembly,callout,each
Fin,2027-03-20,Skin,MS20426AD3-3.5,30
Wing,2027-05-20,Skins,MS20426AD3-3.5,400
"""


def wanted(now):
    """What 95 of 100 builds use at most for the wing's 400."""
    rows = readiness(now.date()).stages
    return next(line.use_95 for row in rows for line in row.lines if line.need == 400)


@pytest.mark.parametrize("pulled_first", [True, False])
def test_a_first_burst_is_judged_by_what_was_pulled_for(
    owner, now, rivets, ask, pulled_first
):
    apply(found=preview(name="plan.csv", data=PLAN), by=owner, now=now)
    skin = Assembly.objects.get(name="Skin")
    place = place_to_pull_for(assembly=skin, by=owner, now=now)
    before = wanted(now)
    pulled = 30 if pulled_first else 14
    verbs.pull(bin=rivets, quantity=pulled, to=place, ask=ask())
    verbs.scrap(bin=rivets, quantity=14, from_=place, ask=ask())
    # More than before, for a burst has been seen, but no part of 400 more.
    assert before < wanted(now) < before + 40
