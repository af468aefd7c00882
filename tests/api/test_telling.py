"""What the API tells of the shop as a whole is what the pages and commands tell."""

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from inventory.alerts.queries.running import RunningState, running_parts
from inventory.forecasting.queries.why import why
from inventory.people.models import User
from inventory.planning.actions import importing

pytestmark = pytest.mark.django_db


@pytest.fixture
def client(owner):
    client = APIClient()
    client.force_authenticate(owner)
    return client


def test_how_the_shop_runs_is_the_owners_to_ask(client):
    asked = client.get("/api/v1/running").json()
    parts = running_parts(timezone.now(), "")
    assert [each["name"] for each in asked] == [part.name for part in parts]
    assert {each["state"] for each in asked} <= set(RunningState)
    assert all(each["words"] for each in asked)
    client.force_authenticate(User.objects.create_user("ada"))
    assert client.get("/api/v1/running").status_code == 403


def test_why_an_item_is_forecast_so_is_opened(client, rivets, owner, now):
    plan = (
        b"stage,start,assembly,callout,each\nFin,2027-03-20,Spar,MS20426AD3-3.5,300\n"
    )
    found = importing.preview(name="plan.csv", data=plan)
    importing.apply(found=found, by=owner, now=now)
    told = client.get(f"/api/v1/items/{rivets.item_id}/why").json()
    expected = why(rivets.item, timezone.localdate()).as_data()
    assert told.keys() == expected.keys()
    assert "Spar" in str(told)
    assert client.get("/api/v1/items/999999/why").status_code == 404
