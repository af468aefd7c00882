"""Drill bits in hand, and callouts that nobody could read."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.models import Callout
from inventory.catalog.rules import described
from inventory.forecasting.actions import fit_from_bin
from inventory.forecasting.models import Bit
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.actions.posting import Ask
from inventory.people.models import User
from inventory.planning.actions.importing import apply, preview
from tests.web.conftest import Said


@pytest.fixture
def bit(owner: User, ask: Callable[..., Ask]) -> Bit:
    """The one fitted."""
    item = item_described(what=described("drill", size="#40"))
    return fit_from_bin(bin=open_bin(item=item, by=owner), ask=ask())[0]


def test_a_bit_shows_its_state_and_takes_another(page: Client, bit: Bit) -> None:
    shown = page.get(reverse("bits"))
    assert b"300 <i>guess</i>" in shown.content

    page.post(reverse("bit-event", args=[bit.number]), {"event": "dull"})

    bit.refresh_from_db()
    assert bit.state == "dull"


@pytest.mark.parametrize(
    ("number", "event", "status"), [(1, "lost", 400), (1, "", 400), (7, "dull", 404)]
)
def test_nothing_odd_befalls_a_bit(
    page: Client, bit: Bit, sentence: Said, number: int, event: str, status: int
) -> None:
    response = page.post(reverse("bit-event", args=[number]), {"event": event})

    bit.refresh_from_db()
    assert response.status_code == status
    assert sentence(response)
    assert bit.state == "fitted"


@pytest.mark.slow
def test_an_unread_callout_is_kept_in_sight(
    page: Client, owner: User, now: object, sentence: Said
) -> None:
    plan = b"stage,assembly,callout,each\nFin,Spar,GLUE 17,3\n"
    apply(found=preview(name="p.csv", data=plan), by=owner, now=now)  # type: ignore[arg-type]
    assert b"GLUE 17" in page.get(reverse("unread")).content
    assert b"unread" in page.get(reverse("home")).content

    odd = page.post(reverse("teach"), {"text": "GLUE 17", "means": " "})

    assert odd.status_code == 400
    assert sentence(odd).startswith("It means the callout: ")
    assert b"GLUE 17" in odd.content


def test_a_name_that_is_taken_keeps_its_meaning(page: Client, sentence: Said) -> None:
    kept = item_for_callout(text="AN470AD4-5")
    found = {"text": "AN470AD4-5", "means": "AN470AD4-6"}

    response = page.post(reverse("teach"), found)

    assert response.status_code == 409
    assert "already names" in sentence(response)
    assert Callout.objects.get(text="AN470AD4-5").item == kept
