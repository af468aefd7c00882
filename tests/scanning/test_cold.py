"""Rivets that are kept cold say so wherever they are pulled, planned or put in a tray.

2017 is driven within about an hour, 2024 within 10 to 20 minutes of leaving the cold
store: FAA-H-8083-31 ch. 4, from memory.
"""

import pytest
from django.urls import reverse
from django.utils.timezone import localdate

from inventory.catalog.actions import item_for_callout
from inventory.forecasting.queries.tray import tray
from inventory.labels.queries import tray_blocks
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.people.queries import shop
from inventory.planning.actions import importing
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly
from inventory.scanning.queries import shop_for
from inventory.scanning.rules.bench import reduce
from inventory.scanning.rules.facts import facts_in
from inventory.scanning.rules.reading import read_code
from inventory.scanning.rules.states import State

pytestmark = pytest.mark.django_db
WORDS = "Keep it in the freezer: drive it within 10 to 20 min of leaving it."


@pytest.fixture
def cold(owner, ask, now):
    """A bin of 2024 rivets, and an assembly that asks for them."""
    item = item_for_callout(text="MS20470DD5-6")
    bin = open_bin(item=item, by=owner, number=31)
    verbs.count(bin=bin, counted=90, ask=ask())
    text = b"stage,assembly,callout,each\nFin,Spar,MS20470DD5-6,30\n"
    found = importing.preview(name="plan.csv", data=text)
    importing.apply(found=found, by=owner, now=now)
    place_to_pull_for(assembly=Assembly.objects.get(), by=owner, now=now)
    return bin


def test_the_bench_says_it_when_the_bin_is_opened(cold):
    assert cold.item.cold_words == WORDS
    code = read_code(cold.code)
    state = State()
    _state, outcome = reduce(
        state, code, facts_in(shop_for(code, state), code, state), 0
    )
    assert outcome.sentence.endswith(WORDS)


def test_pages_and_the_printed_tray_say_it(cold, client, owner):
    client.force_login(owner)
    assembly = Assembly.objects.get()
    for address in (
        reverse("bin", args=[31]),
        reverse("item", args=[cold.item_id]),
        reverse("assembly", args=[assembly.pk]),
        reverse("tray"),
    ):
        assert WORDS in client.get(address).content.decode()
    assert any(
        WORDS in str(vars(block))
        for block in tray_blocks(tray([assembly], shop(), localdate()))
    )


@pytest.mark.parametrize(
    "callout", ["MS20470AD5-6", "MS20470E5-6", "AN3-4A", "AN960D10"]
)
def test_nothing_else_is_said_to_be_kept_cold(callout):
    assert item_for_callout(text=callout).cold_words == ""
