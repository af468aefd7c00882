"""The shop to a program: its log as the page tells it, its people, its backups."""

import uuid
from datetime import UTC, datetime, timedelta

from rest_framework.test import APIClient

from inventory.backups import rules
from inventory.backups.queries import FOLDER
from inventory.ledger.actions import verbs
from inventory.ledger.queries import bin_numbered
from inventory.people.actions import register_device
from inventory.people.models import User
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly

API = "/api/v1/"


def test_the_log_says_what_went_in_and_what_was_taken_back(got, full, owner, ask, now):
    skin, bin = Assembly.objects.get(pk=full.assembly), bin_numbered(12)
    place = place_to_pull_for(assembly=skin, by=owner, now=now)
    verbs.pull(bin=bin, quantity=26, to=place, ask=ask())
    wrong = verbs.pull(bin=bin, quantity=7, to=place, ask=ask())
    got_back = APIClient()
    got_back.force_login(owner)
    undone = got_back.post(
        f"{API}acts/{wrong.act.pk}/undo", {"id": str(uuid.uuid4())}, format="json"
    )
    assert undone.status_code == 201, undone.content

    def told_now():
        (stage,) = got(f"log?stage={skin.stage_id}")
        return next(each for each in stage["assemblies"] if each["id"] == skin.pk)

    told = told_now()
    assert (told["id"], told["begun_by"], told["closed_at"]) == (
        skin.pk,
        str(owner),
        None,
    )
    (row,) = [row for row in told["went_in"] if row["bins"] == [12]]
    assert (row["used"], row["spoiled"], row["bins"]) == (30, 0, [12])
    (back,) = told["taken_back"]
    assert (back["act"], back["taken_back_by"]) == (wrong.act.pk, str(owner))
    assert back["did"].startswith("pulled 7 of ")
    assert told["people"] == [str(owner)]

    closing = {"left": [], "note": "looked inside"}
    closed = got_back.post(f"{API}assemblies/{skin.pk}/close", closing, format="json")
    assert closed.status_code == 200, closed.content
    told = told_now()
    assert told["closed_by"] == str(owner)
    assert [(each["closed"], each["note"]) for each in told["history"]] == [
        (True, "looked inside")
    ]
    assert got("log?stage=99999") == []
    for wrong_one in ("x", "-1", "²", "9" * 30):
        assert got(f"log?stage={wrong_one}", 400)["code"] == "api.after"


def test_people_are_let_in_changed_and_leave(device, got, owner):
    new = {"name": "tansy", "role": "helper", "password": "two rows of rivets"}
    made = device.post(f"{API}people", new, format="json").json()
    assert made == {
        "id": made["id"],
        "name": "tansy",
        "role": "helper",
        "may_sign_in": True,
    }
    assert [row["name"] for row in got("people")] == [str(owner), "tansy"]
    again = device.post(f"{API}people", new, format="json")
    assert (again.status_code, again.json()["code"]) == (400, "people.name")
    short = device.post(
        f"{API}people", new | {"name": "rue", "password": "tin"}, format="json"
    )
    assert (short.status_code, short.json()["code"]) == (400, "people.password")
    for role in ("owner", "king"):
        answer = device.post(
            f"{API}people", new | {"name": "rue", "role": role}, format="json"
        )
        assert answer.status_code == 400
    # What is refused in part changes nothing.
    one = f"{API}people/{made['id']}"
    refused = device.patch(one, {"role": "builder", "password": "tin"}, format="json")
    assert refused.json()["code"] == "people.password"
    assert got("people")[1] == made
    device.patch(
        one, {"role": "builder", "password": "three rows of rivets"}, format="json"
    )
    assert User.objects.get(username="tansy").check_password("three rows of rivets")
    gone = device.patch(one, {"may_sign_in": False}, format="json").json()
    assert gone == made | {"role": "builder", "may_sign_in": False}
    kept = device.patch(
        f"{API}people/{owner.pk}", {"may_sign_in": False}, format="json"
    )
    assert kept.json()["code"] == "people.owner"
    assert (
        device.patch(f"{API}people/999", {}, format="json").json()["code"]
        == "people.no_person"
    )


def test_backups_and_people_are_the_owners(got, settings, tmp_path, now):
    settings.DATA = tmp_path
    assert got("backups") == []
    (tmp_path / FOLDER).mkdir()
    at = datetime(2026, 11, 28, 2, 15, 30, tzinfo=UTC)
    for days in (1, 0):
        (tmp_path / FOLDER / rules.name_at(at - timedelta(days=days))).write_bytes(
            b"zip"
        )
    rows = got("backups")
    assert [row["file"] for row in rows] == [
        "gripcount-20261128T021530Z.zip",
        "gripcount-20261127T021530Z.zip",
    ]
    assert rows[0] == {
        "file": rows[0]["file"],
        "at": "2026-11-28T02:15:30Z",
        "bytes": 3,
    }
    hand = User.objects.create_user("juniper", password="a phrase long enough")
    _device, token = register_device(name="bench 7", by=hand, now=now)
    theirs = APIClient()
    theirs.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    assert theirs.get(f"{API}log").status_code == 200
    for address in ("people", "backups", "running"):
        assert theirs.get(API + address).status_code == 403
