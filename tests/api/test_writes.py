"""Every write of the API on a full shop, by each kind of caller."""

import uuid
from dataclasses import dataclass, field, replace

import pytest
from django.apps import apps
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from rest_framework.test import APIClient

from api.problems import PROBLEM
from inventory.alerts.models import Alert
from inventory.buying.models import OrderPlan
from inventory.labels.actions import label_pdf
from inventory.ledger import queries
from inventory.ledger.actions import verbs
from inventory.ledger.actions.posting import Ask
from inventory.ledger.models import Act, Bin
from inventory.ordering.models import Offer, Order, Receipt
from inventory.people.actions import register_device, revoke_device
from inventory.people.models import User
from inventory.planning.models import Assembly, Stage
from inventory.scanning.models import Scan
from inventory.trade import codes
from tests.api.test_photos import photo_of

pytestmark = [pytest.mark.django_db, pytest.mark.slow]
API = "/api/v1/"
SAID = {"type", "title", "status", "code", "detail", "data"}


@dataclass(frozen=True)
class Write:
    """A write: what is sent, and how one sees that it was done, by whom."""

    body: object
    done: object
    by: object = None
    status: int = 200
    once: bool = False
    owners: bool = False
    options: dict[str, str] = field(default_factory=lambda: {"format": "json"})


UNDO, OTHERS = "POST acts/{id}/undo", (403, "ledger.not_yours")


def pulled_by(person):
    """One's own pull, which leaves bin 12 as the owner's does once it is taken back."""
    bin, place = queries.bin_numbered(12), queries.single_place("unplanned")
    verbs.count(bin=bin, counted=40, ask=Ask(person, timezone.now()))
    return verbs.pull(
        bin=bin, quantity=4, to=place, ask=Ask(person, timezone.now())
    ).act


def last_act():
    """Who did the last act."""
    return Act.objects.latest("pk").by


def held():
    """What bin 12 holds; 36 at first."""
    return queries.quantity_in(queries.bin_numbered(12))


def photo():
    """A picture of bin 12's label."""
    bin = queries.bin_numbered(12)
    pdf = label_pdf(bins=[bin], sheet="single", shop_url=settings.SHOP_URL)
    return SimpleUploadedFile("label.jpg", photo_of(pdf), content_type="image/jpeg")


MOVE = {"verb": "pull", "bin": 12, "quantity": 3}
ORDER = {
    "supplier": "Field supply",
    "lines": [{"callout": "AN3-5A", "packs": 1, "pack_pieces": 50}],
}
PRICE = {"supplier": "Field supply", "callout": "AN3-5A", "pack": 50, "price": "9.10"}
WRITES = {
    "POST bins": Write(
        lambda full: {"callout": "AN3-6A", "number": 40},
        lambda full: Bin.objects.get(number=40).item.callout == "AN3-6A",
        status=201,
    ),
    "PATCH bins/{number}": Write(
        lambda full: {"spot": "rack Z", "keep_level": 7},
        lambda full: Bin.objects.filter(
            number=12, spot="rack Z", keep_level=7
        ).exists(),
    ),
    "POST movements": Write(
        lambda full: {**MOVE, "assembly": full.assembly},
        lambda full: held() == 33,
        last_act,
        status=201,
        once=True,
    ),
    UNDO: Write(
        lambda full: {},
        lambda full: held() == 40,
        last_act,
        status=201,
        once=True,
    ),
    "POST scans": Write(
        lambda full: {"code": codes.make("S", full.assembly), "ms": 5},
        lambda full: Scan.objects.get().bench.state["assembly"] == full.assembly,
        lambda: Scan.objects.get().by,
        once=True,
    ),
    "POST scans/many": Write(
        lambda full: {
            "scans": [
                {"id": str(uuid.uuid4()), "code": code, "ms": 3000 * at}
                for at, code in enumerate(
                    (codes.make("B", 12), codes.make("N", 3), codes.make("B", 12))
                )
            ]
        },
        lambda full: held() == 33,
        last_act,
    ),
    "POST photos": Write(
        lambda full: {"photo": photo()},
        lambda full: held() == 36,
        options={"format": "multipart"},
    ),
    "POST labels": Write(
        lambda full: {"bins": [12], "sheet": "letter"},
        lambda full: Bin.objects.get(number=12).labelled,
    ),
    "PATCH stages/{id}": Write(
        lambda full: {"planned_start": "2027-09-09"},
        lambda full: (
            str(Stage.objects.get(pk=full.stage).planned_start) == "2027-09-09"
        ),
    ),
    "POST assemblies/{id}/close": Write(
        lambda full: {"left": [], "note": "looked inside"},
        lambda full: Assembly.objects.get(pk=full.assembly).state == "closed",
        lambda: Assembly.objects.get(name="Skin").closed_by,
    ),
    "POST assemblies/{id}/reopen": Write(
        lambda full: {},
        lambda full: Assembly.objects.get(pk=full.closed).state == "in_work",
    ),
    "PATCH alerts/{id}": Write(
        lambda full: {"seen": True, "snooze_days": 3},
        lambda full: Alert.objects.get(pk=full.alert).snoozed_until is not None,
        lambda: Alert.objects.get(subject="bin 12").seen_by,
    ),
    "POST offers": Write(
        lambda full: PRICE,
        lambda full: Offer.objects.filter(supplier__name="Field supply").count() == 1,
        status=201,
    ),
    "DELETE offers/{id}": Write(
        lambda full: {}, lambda full: not Offer.objects.exists(), status=204
    ),
    "POST orders": Write(
        lambda full: ORDER,
        lambda full: Order.objects.latest("pk").lines.get().packs == 1,
        lambda: Order.objects.latest("pk").by,
        status=201,
    ),
    "POST receipts": Write(
        lambda full: {"bin": 12, "line": full.line, "pieces": 60, "lot": "R-1"},
        lambda full: held() == 96 and Receipt.objects.get().pieces == 60,
        last_act,
        status=201,
        once=True,
    ),
    "POST order-plan": Write(
        lambda full: {"days_ahead": 90, "limit_seconds": 5},
        lambda full: OrderPlan.objects.get(turn=1).days_ahead == 90,
        lambda: OrderPlan.objects.get(turn=1).asked_by,
        status=202,
    ),
    "DELETE order-plan": Write(
        lambda full: {}, lambda full: not OrderPlan.objects.filter(turn=1).exists()
    ),
    "POST people": Write(
        lambda full: {
            "name": "tansy",
            "role": "builder",
            "password": "two rows of rivets",
        },
        lambda full: User.objects.get(username="tansy").check_password(
            "two rows of rivets"
        ),
        status=201,
        owners=True,
    ),
    "PATCH people/{id}": Write(
        lambda full: {"role": "reader", "may_sign_in": False},
        lambda full: User.objects.filter(
            pk=full.person, kept_role="reader", is_active=False
        ).exists(),
        owners=True,
    ),
    "POST order-plan/{id}/orders": Write(
        lambda full: {},
        lambda full: Order.objects.latest("pk").reference == "order plan",
        lambda: OrderPlan.objects.exclude(ordered_by=None).get().ordered_by,
        status=201,
    ),
}


# What asks nothing of the worker.
QUIET = {
    "POST scans",
    "POST photos",
    "POST labels",
    "PATCH alerts/{id}",
    "DELETE order-plan",
    "POST people",
    "PATCH people/{id}",
}


@pytest.fixture
def other(db):
    """Juniper, who works in the shop and does not own it."""
    return User.objects.create_user("juniper", password="a phrase long enough")


@pytest.fixture(params=["owner", "another person", "a bench"])
def caller(request, owner, other, now):
    """Whoever may write, with the client they use."""
    client = APIClient()
    if request.param == "a bench":
        _device, token = register_device(name="bench 7", by=other, now=now)
        client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    else:
        client.force_login(owner if request.param == "owner" else other)
    return client, owner if request.param == "owner" else other


@pytest.fixture(params=["nobody", "a revoked bench", "a wrong token", "who has left"])
def stranger(request, other, now):
    """Whoever may do nothing."""
    client = APIClient()
    device, token = register_device(name="bench 7", by=other, now=now)
    if request.param == "a revoked bench":
        revoke_device(device=device, by=other, now=now)
    if request.param == "a wrong token":
        token = token[::-1]
    if request.param == "who has left":
        User.objects.filter(pk=other.pk).update(is_active=False)
    if request.param != "nobody":
        client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    return client


def send(client, name, full, body):
    """One write of the table."""
    method, address = name.split(" ")
    ask = getattr(client, method.lower())
    return ask(API + full.path(address), body, **WRITES[name].options)


def everything():
    """Every row of the shop."""
    return {
        model.__name__: sorted(map(str, model.objects.values_list()))
        for model in apps.get_app_config("inventory").get_models()
    }


def test_the_table_has_every_write_of_the_description(device):
    paths = device.get(API + "schema?format=json").json()["paths"]
    described = {
        f"{method.upper()} {address.removeprefix(API)}"
        for address, found in paths.items()
        for method in found
        if method in ("post", "put", "patch", "delete")
    }
    assert described == set(WRITES)


@pytest.mark.unmeasured
@pytest.mark.parametrize("name", WRITES)
def test_who_works_here_writes_once_and_in_their_own_name(
    full, caller, name, django_capture_on_commit_callbacks
):
    client, person = caller
    write = WRITES[name]
    if name == UNDO and Act.objects.get(pk=full.act).by != person:
        refused = send(client, name, full, {"id": str(uuid.uuid4())})
        assert (refused.status_code, refused.json()["code"]) == OTHERS
        full = replace(full, act=pulled_by(person).pk)
    body = write.body(full) | ({"id": str(uuid.uuid4())} if write.once else {})

    before = everything()
    with django_capture_on_commit_callbacks() as woken:
        answer = send(client, name, full, body)
    if write.owners and not person.is_superuser:
        assert (answer.status_code, everything()) == (403, before)
        return

    assert answer.status_code == write.status, answer.content
    assert write.done(full)
    assert bool(woken) == (name not in QUIET)
    if write.by:
        assert write.by() == person
    assert queries.flaws() == []
    if write.once:
        before = everything()
        again = send(client, name, full, body)
        assert again.status_code == 200
        assert everything() == before


def test_a_stranger_writes_nothing_and_learns_nothing(full, stranger):
    wishes = {name: write.body(full) for name, write in WRITES.items()}
    before = everything()
    for name, body in wishes.items():
        answer = send(stranger, name, full, body)

        assert answer.status_code == 401
        assert answer["Content-Type"] == PROBLEM
        assert set(answer.json()) == SAID
    assert everything() == before


BODILESS = ("reopen", "DELETE", "POST order-plan/{id}/orders")


def test_a_body_of_another_shape_changes_nothing(full, device):
    before = everything()
    for name in WRITES:
        if any(none in name for none in BODILESS):
            continue
        method, address = name.split(" ")
        ask = getattr(device, method.lower())

        answer = ask(API + full.path(address), ["none", "of", "it"], format="json")

        assert answer.status_code in (400, 415), name
        assert answer["Content-Type"] == PROBLEM
    assert everything() == before
