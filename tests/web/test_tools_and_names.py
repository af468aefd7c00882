"""Drill bits in hand, and callouts that nobody could read."""

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.models import Callout
from inventory.catalog.rules import described
from inventory.forecasting.actions import fit_from_bin, happen, take_event_back
from inventory.forecasting.models import Bit, BitEvent
from inventory.forecasting.queries.tools import holes_on
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.actions.posting import Ask
from inventory.ledger.queries import Bin
from inventory.people.models import User
from inventory.planning.actions.importing import apply, preview
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly
from tests.web.conftest import Said


@pytest.fixture
def bit(owner: User, ask: Callable[..., Ask]) -> Bit:
    """The one fitted."""
    item = item_described(what=described("drill", size="#40"))
    return fit_from_bin(bin=open_bin(item=item, by=owner), ask=ask())[0]


def test_a_bit_shows_its_state_and_takes_another(page: Client, bit: Bit) -> None:
    shown = page.get(reverse("bits"))
    assert b"300 <i>guess</i>" in shown.content

    address = reverse("bit-event", args=[bit.number])
    asked = page.post(address, {"event": "dull"})

    bit.refresh_from_db()
    assert (asked.status_code, bit.state) == (409, "fitted")
    assert b"is dull, after 0 holes?" in asked.content

    page.post(address, {"event": "dull", "sure": "yes"})

    bit.refresh_from_db()
    assert bit.state == "dull"
    assert b"Sharpen it before it is fitted again" in page.get(reverse("bits")).content


def test_a_broken_bit_is_spoken_of_as_such_until_that_is_taken_back(
    page: Client, bit: Bit
) -> None:
    address = reverse("bit-event", args=[bit.number])
    page.post(address, {"event": "broken", "sure": "yes"})
    text = page.get(reverse("bits")).content.decode()
    assert "It broke after" in text
    assert "with a chance of" not in text
    assert address + '"' not in text

    page.post(reverse("bit-event-back", args=[bit.number]))

    bit.refresh_from_db()
    assert bit.state == "fitted"
    assert [row.event for row in bit.happened] == ["fitted"]
    assert BitEvent.objects.exclude(back_at=None).get().event == "broken"
    # Its first came with a pull: that is taken back where it was made.
    first = page.post(reverse("bit-event-back", args=[bit.number]))
    assert first.status_code == 400


def test_a_bit_set_aside_by_another_is_fitted_again_when_that_is_taken_back(
    bit: Bit, owner: User, ask: Callable[..., Ask], now: datetime
) -> None:
    def states() -> dict[int, str]:
        return dict(Bit.objects.values_list("number", "state"))

    other = fit_from_bin(bin=Bin.objects.get(), ask=ask())[0]
    assert states() == {1: "set_aside", 2: "fitted"}
    bit.refresh_from_db()
    happen(bit=bit, event="fitted", by=owner, now=now + timedelta(1))
    assert states() == {1: "fitted", 2: "set_aside"}
    take_event_back(bit=bit, by=owner, now=now + timedelta(2))
    assert states() == {1: "set_aside", 2: "fitted"}
    # What broke by mistake gives way to the one that was fitted meanwhile.
    other.refresh_from_db()
    happen(bit=other, event="broken", by=owner, now=now + timedelta(3))
    bit.refresh_from_db()
    happen(bit=bit, event="fitted", by=owner, now=now + timedelta(4))
    other.refresh_from_db()
    take_event_back(bit=other, by=owner, now=now + timedelta(5))
    assert states() == {1: "fitted", 2: "set_aside"}
    assert other.happened[-1].at == now + timedelta(4)


def test_holes_without_a_fitted_bit_ask_which_bit(
    page: Client, bit: Bit, owner: User, now: datetime
) -> None:
    text = (
        b"stage,assembly,callout,each,hole_size,holes,operation\n"
        b"Fin,Spar,AN426AD3-4,1,#40,90,full\nFin,Rib,AN426AD3-4,1,#40,30,full\n"
    )
    apply(found=preview(name="p.csv", data=text), by=owner, now=now)
    spar, rib = Assembly.objects.order_by("-name")
    for row in (spar, rib):
        place_to_pull_for(assembly=row, by=owner, now=now)
    assert (
        b"which one drilled" not in page.get(f"/assemblies/{rib.pk}/close-up/").content
    )
    happen(bit=bit, event="set_aside", by=owner, now=now)
    address = reverse("close-up", args=[spar.pk])
    assert (
        b"No #40 bit is fitted: which one drilled the 90" in page.get(address).content
    )
    assert page.post(address, {"note": ""}).status_code == 400
    page.post(address, {"note": "", "bit_0": str(bit.number)})
    assert holes_on(bit) == 90
    page.post(reverse("close-up", args=[rib.pk]), {"note": "", "bit_0": "none"})
    assert holes_on(bit) == 90
    page.post(reverse("assembly-reopen", args=[spar.pk]))
    assert holes_on(bit) == 0
    page.post(address, {"note": "", "bit_0": str(bit.number)})
    assert holes_on(bit) == 90
    happen(bit=bit, event="resharpened", by=owner, now=timezone.now())
    assert holes_on(bit) == 0


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
