"""People at the pages, a plan to look at, and an order that is on its way."""

import uuid
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from inventory.ledger.queries import Bin
from inventory.ordering.actions.placing import AskLine, place_order, supplier_called
from inventory.ordering.models import Order
from inventory.people.models import User
from inventory.planning.actions.importing import apply, preview
from inventory.planning.models import Assembly, Stage
from tests.again import made_once

Said = Callable[[Any], str]
PLAN = b"""stage,start,assembly,how_many,callout,each,hole_size,holes
Fin,2027-03-20,Spar,1,MS20426AD3-3.5,30,#40,30
Fin,2027-03-20,Skin,2,MS20426AD3-4,12,,
Rudder,,Frame,1,AN470AD4-5,55,#30,55
"""


@pytest.fixture(autouse=True)
def _own_folder(settings: Any, tmp_path: Path) -> None:
    """Uploads of a test stay in the test's folder."""
    settings.DATA = tmp_path


@pytest.fixture
def page(client: Client, owner: User) -> Client:
    """The owner's browser, signed in."""
    client.force_login(owner)
    return client


@pytest.fixture
def planned(owner: User, now: Any) -> list[Stage]:
    """Two stages with three assemblies."""
    plan(owner, now)
    return list(Stage.objects.order_by("position"))


@made_once
def plan(owner: User, now: Any) -> None:
    """The plan of PLAN."""
    apply(found=preview(name="plan.csv", data=PLAN), by=owner, now=now)


@pytest.fixture
def spar(planned: list[Stage]) -> Assembly:
    """The assembly that asks for the rivets of bin 12."""
    return Assembly.objects.get(name="Spar")


@pytest.fixture
def order(owner: User, rivets: Bin) -> Order:
    """Two packs of 50 of what bin 12 holds."""
    return place_order(
        supplier=supplier_called(name="Hangar supply"),
        asks=[AskLine(rivets.item, 2, 50)],
        placed_on=date(2027, 2, 20),
        by=owner,
        reference="H-17",
    )


@pytest.fixture
def sentence() -> Said:
    """The refusal a page shows, or nothing."""

    def find(response: Any) -> str:
        return str(response.context["refusal"]) if response.context else ""

    return find


@pytest.fixture
def work(page: Client) -> Callable[..., tuple[int, str]]:
    """One thing done on the page of bin 12."""

    def press(verb: str, quantity: object, **other: object) -> tuple[int, str]:
        form = {"scan_id": str(uuid.uuid4()), "verb": verb, "quantity": quantity}
        found = page.post("/bins/12/book/", {**form, **other}, follow=True)
        return found.status_code, found.content.decode()

    return press
