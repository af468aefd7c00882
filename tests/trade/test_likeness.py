"""How fasteners differ, in words. Lengths and alloys: common practice, no source.

The bolts' lengths are those of the AN3 to AN20 bolt sheet, as `trade/data` cites it.
"""

import pytest

from inventory.trade.callouts import parse
from inventory.trade.likeness import are_alike, difference


@pytest.mark.parametrize(
    ("this", "other", "words", "alike"),
    [
        ("MS20426AD3-4", "MS20426AD3-3.5", "half a length longer", True),
        ("MS20426AD3-3", "MS20426AD3-4", "a length shorter", True),
        ("MS20470AD4-4.5", "MS20470AD4-3", "one and a half lengths longer", False),
        ("MS20470AD4-8", "MS20470AD4-4", "4 lengths longer", False),
        ("MS20470AD4-8", "MS20470AD4-4.5", "3 and a half lengths longer", False),
        ("MS20470A4-4", "MS20470AD4-4", "soft alloy (A), not alloy AD", True),
        ("MS20470DD4-4", "MS20470AD4-4", "alloy DD, not alloy AD", True),
        ("MS20426AD4-4", "MS20470AD4-4", "flush, not universal", False),
        ("MS20470AD5-4", "MS20470AD4-4", "5/32, not 1/8", False),
        ("AN470AD4-4", "MS20470AD4-4", "", False),
        ("AN3-4A", "AN3-3A", "1/16 in longer", True),
        ("AN3-4A", "AN3-5A", "1/8 in shorter", True),
        ("AN3-5A", "AN3-7A", "1/4 in shorter", False),
        ("AN4-5A", "AN3-5A", "1/4, not 3/16", False),
    ],
)
def test_words(this, other, words, alike):
    first, second = parse(this), parse(other)
    assert difference(first, second) == words
    assert are_alike(first, second) is alike
    assert are_alike(second, first) is alike


def test_several_differences_are_all_named():
    said = difference(parse("MS20426A3-4"), parse("MS20470AD4-3.5"))
    assert said == (
        "3/32, not 1/8; flush, not universal; soft alloy (A), not alloy AD; "
        "half a length longer"
    )
