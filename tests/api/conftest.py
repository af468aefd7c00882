"""A script's view of the shop: a device with a token."""

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import pytest
from rest_framework.test import APIClient

from inventory.alerts.models import Alert
from inventory.buying.models import DONE, OrderPlan
from inventory.ledger.actions.bins import lot_of
from inventory.ledger.actions.verbs import adjust, pull
from inventory.ledger.queries import bin_numbered
from inventory.ordering.actions.offering import OfferTerms, price_offer
from inventory.ordering.actions.placing import AskLine, place_order, supplier_called
from inventory.people.actions import add_person, register_device
from inventory.people.rules import Role
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly
from tests.scanning.stories import furnish


@pytest.fixture
def device(owner, now):
    """A client that shows a device's token."""
    _device, token = register_device(name="bench 1", by=owner, now=now)
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    return client


@pytest.fixture
def got(device):
    """What an address answers."""

    def get(address, status=200):
        answer = device.get(f"/api/v1/{address}")
        assert answer.status_code == status, answer.content
        return answer.json()

    return get


@dataclass(frozen=True)
class Full:
    """Numbers of what a full shop holds, by the names that addresses use."""

    item: int
    assembly: int
    closed: int
    stage: int
    act: int
    order: int
    line: int
    offer: int
    alert: int
    plan: int
    lot: int
    person: int

    def number(self, address: str) -> int:
        """The number that an address of the description wants."""
        numbers = {
            "items": self.item,
            "bins": 12,
            "acts": self.act,
            "stages": self.stage,
            "assemblies": self.closed if "reopen" in address else self.assembly,
            "alerts": self.alert,
            "offers": self.offer,
            "orders": self.order,
            "order-plan": self.plan,
            "lots": self.lot,
            "people": self.person,
        }
        found = re.search(r"([a-z-]+)/\{", address)
        return numbers[found[1]] if found else 0

    def path(self, address: str) -> str:
        """An address of the description with the number in it."""
        return re.sub(r"\{[a-z]+\}", str(self.number(address)), address)


@pytest.fixture
def full(owner, ask, now):
    """The shop of the stories with goods on the way, prices, an alert and a plan."""
    furnish(owner, ask, now)
    skin = Assembly.objects.get(name="Skin")
    bin = bin_numbered(12)
    place = place_to_pull_for(assembly=skin, by=owner, now=now)
    lot = lot_of(item=bin.item, name="R-77", paper="P-1")
    adjust(bin=bin, change=20, ask=ask(), lot=lot)
    adjust(bin=bin, change=-20, ask=ask())
    pulled = pull(bin=bin, quantity=4, to=place, ask=ask())
    supplier = supplier_called(name="Hangar supply")
    order = place_order(
        supplier=supplier,
        asks=[AskLine(bin.item, 2, 50)],
        placed_on=date(2027, 2, 20),
        by=owner,
    )
    offer = price_offer(
        item=bin.item,
        supplier=supplier,
        pack=(100, None),
        terms=OfferTerms(price=Decimal("4.20")),
        by=owner,
    )
    alert = Alert.objects.create(
        subject="bin 12",
        cause="count",
        episode=1,
        title="Count bin 12",
        sentence="Count what is in it.",
        raised_at=now,
        updated_at=now,
    )
    lines = [{"item": bin.item_id, "packs": 1, "pack_pieces": 100, "pack_grams": None}]
    parcel = {"id": supplier.pk, "arrives": "2027-03-10", "lines": lines}
    plan = OrderPlan.objects.create(
        state=DONE,
        turn=None,
        asked_at=now,
        asked_by=owner,
        days_ahead=120,
        limit_seconds=20,
        found={"suppliers": [parcel]},
    )
    return Full(
        item=bin.item_id,
        assembly=skin.pk,
        closed=Assembly.objects.get(name="Rib").pk,
        stage=skin.stage_id,
        act=pulled.act.pk,
        order=order.number,
        line=order.lines.get().pk,
        offer=offer.pk,
        alert=alert.pk,
        plan=plan.pk,
        lot=lot.pk,
        person=add_person(
            name="sorrel", password="tin snips and tea", role=Role.HELPER, by=owner
        ).pk,
    )
