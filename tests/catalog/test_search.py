"""Search understands callouts, their other names, and words in any order."""

import pytest

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.queries import search
from inventory.catalog.rules import Description

pytestmark = pytest.mark.django_db


@pytest.fixture
def shelf():
    texts = ("MS20426AD3-3.5", "MS20426AD3-6.5", "MS20470AD4-4", "AN3-5A")
    items = [item_for_callout(text=text) for text in texts]
    drill = Description(kind="drill", size="#40", form="jobber", unit="pcs")
    return [*items, item_described(what=drill)]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("3/32 flush 7/32", [0]),
        ("flush, 7/32", [0]),
        ("7/32 LONG flush 3/32", [0]),
        ("ad3-3.5", [0]),
        ("AN426AD3-3.5", [0]),
        ("ms20426", [0, 1]),
        ("universal", [2]),
        ("rivet", [0, 1, 2]),
        ("flush rivets", [0, 1]),
        ("bolts", [3]),
        ("drill", [4]),
        ("13/32", [1]),
        ("#40", [4]),
        ("bolt 3/16", [3]),
        ("flush bolt", []),
        ("(", []),
        ("", [0, 1, 2, 3, 4]),
    ],
)
def test_words(shelf, text, found):
    assert set(search(text)) == {shelf[at] for at in found}
