"""Who is let in, what every page carries, and how nothing is told to strangers."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.ordering.models import Order
from inventory.people.models import User
from inventory.planning.models import Assembly
from inventory.trade import codes
from inventory.web.urls import urlpatterns

ARGUMENTS = {
    "pk": 1,
    "number": 12,
    "code": codes.make("B", 12),
    "name": "drill",
    "at": 0,
    "item": 1,
    "place": 1,
    "this": 1,
    "asked": 1,
}
NAMES = sorted(str(row.name) for row in urlpatterns)
# Health: tests/alerts/test_running.
HEALTH = {"health", "health-worker"}
OPEN = {"sign-in", "first", *HEALTH}
# Open to whoever has a link that holds: tests/web/test_log.
BY_LINK = {"log-read", "log-read-print", "log-read-photograph"}
INLINE = rb"<script(?![^>]*src=)|<style|\sstyle=|\son\w+="


def address(name: str) -> str:
    """The address of a page, with numbers where it wants them."""
    row = next(row for row in urlpatterns if row.name == name)
    wanted = row.pattern.regex.groupindex
    return reverse(name, kwargs={key: ARGUMENTS[key] for key in wanted})


@pytest.mark.parametrize("name", [name for name in NAMES if name not in OPEN | BY_LINK])
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_stranger_is_sent_to_the_sign_in(
    client: Client, db: None, name: str, method: str
) -> None:
    response = getattr(client, method)(address(name))

    assert response.status_code == 302
    assert response["Location"].startswith(reverse("sign-in"))


def pages() -> Iterator[str]:
    """Pages that answer a plain look."""
    posts = {"sign-out", "plan-apply", "stock-apply", "teach", "device-new"}
    posts |= {
        "record-mend",
        "act-undo",
        "first",
        "steps-letter",
        "steps-over",
        "line-new",
        "letter-test",
        "backup-now",
        "person-new",
        "person-role",
        "person-password",
        "person-leave",
        "sign-in-end",
        "lent-until",
        "list-drop",
        "list-name",
        "wording-set",
        "own-password",
        "own-sign-in-end",
    }
    # A script, a piece of a page, lists and all as files: looked at elsewhere.
    posts |= {
        "archive",
        "list-csv",
        "list-xlsx",
        "lot-print",
        "bench-offline",
        "bench-pair",
        "photograph",
        "photograph-in",
        "lot",
    }
    # This shop has no offer: those are looked at elsewhere.
    posts |= {"offer", "offer-drop", "offer-new", "offers-apply"}
    posts |= BY_LINK | {"log-link-new", "log-link-end"}
    posts |= {"order-plan-cancel", "order-plan-orders"}
    for name in NAMES:
        if name not in posts and not re.search(
            r"^(stage|assembly|bin|item|bit|order|line|alert|device|change)-"
            r"(date|skip|move|close|reopen|instead|change|weigh|event|expect|drop|seen|snooze"
            r"|revoke|back|wait|book|look|new|name|copy|split|lines|ask|drill|seam|retire|use"
            r"|really|names|unname|change-back|event-back)$",
            name,
        ):
            yield name


@pytest.mark.slow
@pytest.mark.parametrize("name", list(pages()))
def test_every_page_opens_on_a_full_shop_and_carries_its_rules(
    page: Client, order: Order, spar: Assembly, name: str
) -> None:
    numbers = {
        "stage": spar.stage_id,
        **dict.fromkeys(
            (
                "assembly",
                "close-up",
                "assembly-plan",
                "assembly-record",
                "assembly-sheet",
            ),
            spar.pk,
        ),
        "item": order.lines.get().item_id,
        "item-why": order.lines.get().item_id,
        "item-run-out": order.lines.get().item_id,
        **dict.fromkeys(
            ("supplier", "supplier-list", "supplier-csv"), order.supplier_id
        ),
        "help": "home",
        "receive-line": order.lines.get().pk,
        **dict.fromkeys(("order", "shopping-list", "shopping-csv"), order.number),
    }
    found = reverse(name, args=[numbers[name]]) if name in numbers else address(name)

    response = page.get(found)

    assert response.status_code in (
        (302,) if name in {*OPEN - HEALTH, "label", "label-small"} else (200,)
    )
    policy = response["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    # The bench's page holds nothing personal, so that a device may keep it.
    kept = "private, max-age" if name == "bench" else "no-store"
    assert kept in response["Cache-Control"]
    if name == "bench":
        assert b"marlow" not in response.content
        assert b"csrfmiddlewaretoken" not in response.content
    assert response["Permissions-Policy"].startswith("camera=(self)")
    # A picture is its own document and carries its look; it has no script at all.
    assert not re.search(INLINE, response.content)
    # A title is plain words: a browser shows marks in it as they are written.
    assert not re.search(rb"<title>[^<]*<(?!/title>)", response.content)


@pytest.mark.parametrize("name", ["home", "plan", "bins", "items", "orders", "bits"])
def test_every_list_opens_in_an_empty_shop(page: Client, name: str) -> None:
    assert page.get(reverse(name)).status_code == 200


def test_the_sign_in_does_not_say_who_exists(client: Client, owner: User) -> None:
    known = {"username": "marlow", "password": "not the phrase"}
    unknown = {"username": "marlov", "password": "not the phrase"}

    said = [client.post(reverse("sign-in"), data).content for data in (known, unknown)]

    without_names = [
        re.sub(rb'marlo[vw]|value="[A-Za-z0-9]{64}"', b"", one) for one in said
    ]
    assert b"do not fit together" in said[0]
    assert without_names[0] == without_names[1]


@pytest.mark.slow
def test_the_owner_signs_in_and_out(client: Client, owner: User) -> None:
    data = {"username": "marlow", "password": "a phrase long enough"}

    assert client.post(reverse("sign-in"), data)["Location"] == reverse("home")
    assert client.get(reverse("home")).status_code == 200
    client.post(reverse("sign-out"))
    assert client.get(reverse("home")).status_code == 302


def test_the_sign_in_tells_nothing_of_the_shop(client: Client, owner: User) -> None:
    response = client.get(reverse("sign-in"))

    assert b"The workshop" not in response.content
    assert "no-store" in response["Cache-Control"]


@pytest.mark.parametrize(
    ("demo", "host", "near", "shown"),
    [
        (True, "localhost:8040", "127.0.0.1", True),
        (True, "127.0.0.1", "127.0.0.1", True),
        (True, "shop.local", "127.0.0.1", False),
        (True, "localhost", "192.168.1.9", False),
        (False, "localhost", "127.0.0.1", False),
    ],
)
def test_the_demo_sign_in_shows_in_the_demo_on_this_machine_only(
    client: Client,
    owner: Any,
    settings: Any,
    demo: bool,
    host: str,
    near: str,
    shown: bool,
) -> None:
    settings.DEMO, settings.DEMO_SIGN_IN = demo, ("demo", "words-to-show")
    settings.ALLOWED_HOSTS = ["localhost", "127.0.0.1", "shop.local"]

    response = client.get(reverse("sign-in"), headers={"host": host}, REMOTE_ADDR=near)

    assert (b"words-to-show" in response.content) is shown


def test_a_form_of_another_site_changes_nothing(owner: User) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(owner)

    response = strict.post(reverse("settings"), {"name": "Taken"})

    assert response.status_code == 403
    assert b"gone stale" in response.content
    assert b"Taken" not in strict.get(reverse("settings")).content


LOOKED_AT = [
    "/nowhere/",
    "/items/999999999/",
    "/bins/9999999999999/",
    "/suppliers/9/",
    "/offers/9/",
    "/order-lines/9/receive/",
    "/items/9/why/",
    "/bench/pair/9/9/",
    "/assemblies/9/plan/",
]
SENT_TO = [
    "/alerts/9/seen/",
    "/alerts/9/snooze/",
    "/suppliers/9/offers/",
    "/offers/9/drop/",
    "/order-lines/9/drop/",
    "/settings/devices/9/revoke/",
    "/plan/history/9/back/",
    "/stages/9/name/",
    "/stages/9/drop/",
    "/assemblies/9/lines/",
    "/assemblies/9/move/",
]


@pytest.mark.parametrize("found", [*LOOKED_AT, *SENT_TO])
def test_an_address_with_nothing_behind_it_says_so(page: Client, found: str) -> None:
    response = page.post(found) if found in SENT_TO else page.get(found)

    assert response.status_code == 404
    assert b"Not here" in response.content
