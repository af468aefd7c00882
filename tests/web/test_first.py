"""The first start: the shop gets a name and an owner; five steps tick themselves off."""

import re
import uuid

import pytest

from inventory.catalog.actions import item_for_callout
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import note_labelled, open_bin
from inventory.ledger.queries import bins
from inventory.people.models import User
from inventory.people.queries import mail_address, shop
from inventory.planning.actions.importing import apply, preview
from inventory.scanning.actions import Sent, bench_called, scan

pytestmark = pytest.mark.django_db
MINE = {
    "shop": "Hangar nine",
    "owner": "Marlow",
    "email": "marlow@example.org",
    "password": "cold hands, warm rivets",
    "again": "cold hands, warm rivets",
}


def left(page):
    found = page.get("/first/steps/").content.decode()
    return int(re.search(r"(\d) of 5 left", found)[1]) if "of 5 left" in found else 0


def test_a_new_shop_asks_whose_it_is_once(client):
    client.defaults["HTTP_HOST"] = "localhost"
    opened = client.get("/", follow=True)
    assert opened.redirect_chain[-1][0] == "/first/"
    assert "It is mine" in opened.content.decode()
    for wrong, words in (
        ({"again": "another"}, "The two passwords differ"),
        ({"password": "short", "again": "short"}, "too short"),
        ({"email": "nowhere"}, "valid email"),
        ({"shop": ""}, "This field is required"),
    ):
        answer = client.post("/first/", {**MINE, **wrong})
        assert answer.status_code == 400
        found = answer.content.decode()
        assert words in found
        assert 'value="Marlow"' in found
        assert not User.objects.exists()
    answer = client.post("/first/", MINE, follow=True)
    assert answer.redirect_chain[-1][0] == "/first/steps/"
    assert "5 of 5 left" in answer.content.decode()
    assert (shop().name, mail_address()) == ("Hangar nine", "marlow@example.org")
    client.post("/sign-out/")
    again = client.post("/first/", {**MINE, "owner": "Somebody"}, follow=True)
    assert again.redirect_chain[-1][0].startswith("/sign-in/")
    assert User.objects.count() == 1
    assert client.login(username="Marlow", password=MINE["password"])


def test_a_new_shop_is_not_named_from_afar(client):
    afar = {"HTTP_HOST": "testserver", "REMOTE_ADDR": "10.0.0.7"}
    assert "nobody's yet" in client.get("/first/", **afar).content.decode()
    assert client.post("/first/", MINE, **afar).status_code == 400
    behind_a_proxy = {"HTTP_HOST": "testserver", "REMOTE_ADDR": "127.0.0.1"}
    assert client.post("/first/", MINE, **behind_a_proxy).status_code == 400
    assert not User.objects.exists()


def test_the_steps_tick_themselves_off(page, owner, now, ask):
    assert left(page) == 5
    home = page.get("/").content.decode()
    assert "5 of 5 left" in home
    plan = b"stage,assembly,callout,each\nFin,Skin,AN426AD3-4,3\n"
    apply(found=preview(name="p.csv", data=plan), by=owner, now=now)
    assert left(page) == 4
    row = open_bin(item=item_for_callout(text="AN426AD3-4"), by=owner)
    assert left(page) == 4
    verbs.count(bin=row, counted=50, ask=ask())
    assert left(page) == 3
    note_labelled(bins=bins())
    assert left(page) == 2
    bench = bench_called(key="bench 1", person=owner, now=now)
    scan(
        bench=bench,
        sent=Sent(uuid.uuid4(), "b1"),
        by=owner,
        now=now,
    )
    assert left(page) == 1
    page.post("/first/steps/letter/")
    assert left(page) == 0
    assert "All done" in page.get("/first/steps/").content.decode()
    assert "First steps</h2>" not in page.get("/").content.decode()


def test_the_steps_can_be_put_away_and_brought_back(page):
    page.post("/first/steps/over/")
    assert "of 5 left" not in page.get("/").content.decode()
    page.post("/first/steps/over/")
    assert "5 of 5 left" in page.get("/").content.decode()
