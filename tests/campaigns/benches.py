"""A bench in a process of its own: it pulls piece by piece and notes every answer."""

import os
import uuid
from pathlib import Path

from django.db import connections
from django.urls import resolve
from django.utils import timezone
from rest_framework.test import APIClient

from inventory.catalog.actions import item_for_callout
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.actions.posting import Ask
from inventory.ledger.actions.verbs import count
from inventory.people.actions import register_device
from inventory.people.models import User

HELD = 100_000


def open_shop():
    """A bin with enough for any campaign; the token of the bench that pulls from it.

    What the first request would load is loaded here, before the benches are forked.
    """
    resolve("/api/v1/movements")
    now, owner = timezone.now(), User.objects.create(username="marlow")
    item = item_for_callout(text="MS20426AD3-3.5")
    bin = open_bin(item=item, by=owner, number=12)
    count(bin=bin, counted=HELD, ask=Ask(owner, now))
    return register_device(name="bench", by=owner, now=now)[1]


def fresh_ids(dice, times):
    return [str(uuid.UUID(int=dice.getrandbits(128), version=4)) for _ in range(times)]


def begin(token, ids, notes: Path, *, prepare=lambda: None, too_early=False):
    """Fork a bench that sends these scans; its process id.

    `too_early` is a bench that must be found out: it notes before it was answered.
    """
    connections.close_all()
    child = os.fork()
    if child:
        return child
    try:
        prepare()
        send(token, ids, notes, too_early=too_early)
    finally:
        os._exit(0)


def send(token, ids, notes: Path, *, too_early=False):
    client = APIClient(raise_request_exception=False)
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    with notes.open("ab", buffering=0) as written:
        for scan_id in ids:
            line = f"{scan_id}\n".encode()
            if too_early:
                written.write(line)
            asked = {"verb": "pull", "bin": 12, "quantity": 1, "id": scan_id}
            answer = client.post("/api/v1/movements", asked, format="json")
            if answer.status_code in (200, 201) and not too_early:
                written.write(line)


def answered(notes: Path):
    """The scans that were answered; a line cut short was not."""
    if not notes.exists():
        return set()
    return set(notes.read_text().rpartition("\n")[0].split())
