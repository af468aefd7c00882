"""Substitutes: which part may stand in, why, and when somebody must allow it."""

from fractions import Fraction

import pytest

from inventory.errors import Refused
from inventory.trade.callouts import parse
from inventory.trade.substitutes import (
    BLIND,
    CUT_DOWN,
    HALF_UP,
    REPAIR,
    reason_for,
    substitutes,
)

NEEDED = parse("MS20470AD4-4")


@pytest.mark.parametrize(
    ("used", "why"),
    [
        ("MS20470AD4-4.5", HALF_UP),
        ("AN470AD4-4.5", HALF_UP),
        ("MS20470AD4-6", CUT_DOWN),
        ("MS20470AD5-4", REPAIR),
        ("MS20600AD4W2", BLIND),
        ("MS20600 series, no. 43", BLIND),
    ],
)
def test_each_way_has_its_reason(used, why):
    found = reason_for(NEEDED, parse(used))
    assert found.why == why
    assert found.reason
    assert found.source
    assert found.approval == (why == BLIND)


# A and AD, flush and universal, shorter ones, a thinner shank: never
# (common practice, no source).
@pytest.mark.parametrize(
    "used",
    ["MS20470A4-4.5", "MS20426AD4-4.5", "MS20470AD4-3.5", "MS20470AD3-4", "AN3-4A"],
)
def test_what_may_not_stand_in_is_refused(used):
    with pytest.raises(Refused, match="by no rule here"):
        reason_for(NEEDED, parse(used))


def test_a_longer_one_is_of_the_same_shank_head_and_alloy():
    for each in substitutes(NEEDED):
        if each.why in (HALF_UP, CUT_DOWN):
            other = parse(each.callout)
            same = (other.head, other.alloy, other.diameter_in)
            assert same == (NEEDED.head, NEEDED.alloy, NEEDED.diameter_in)
            assert 0 < other.length_in - NEEDED.length_in <= Fraction(1, 2)


def test_only_solid_rivets_have_substitutes():
    assert substitutes(parse("AN3-4A")) == ()
    assert [each.why for each in substitutes(parse("MS20442AD4-4"))].count(BLIND) == 0
