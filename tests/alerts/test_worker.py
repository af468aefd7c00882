"""A real worker, a real broker and a real SMTP server: the mail before the stage.

The worker is started with every message thrown away first: the row in the database is
the truth, so its beat finds the work all the same.
"""

import os
import subprocess
import sys
import time
from datetime import timedelta
from email import message_from_bytes

import pytest
from aiosmtpd.controller import Controller
from django.conf import settings
from django.db import connection
from django.utils import timezone

from inventory.config import paths
from inventory.planning.actions import importing

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


class Letters:
    """Keeps what arrives."""

    def __init__(self):
        self.arrived = []

    async def handle_DATA(self, server, session, envelope):
        self.arrived.append(message_from_bytes(envelope.content))
        return "250 kept"


@pytest.fixture
def letters():
    """An SMTP server on loopback."""
    kept = Letters()
    server = Controller(kept, hostname="127.0.0.1", port=0)
    server.port = free_port()
    server.start()
    yield kept, server.port
    server.stop()


def free_port():
    import socket  # noqa: PLC0415

    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def database_url():
    name = connection.settings_dict["NAME"]
    if connection.vendor == "sqlite":
        return f"sqlite:///{name}"
    return f"postgres://postgres@127.0.0.1:5432/{name}"


def test_the_mail_arrives_though_every_message_was_lost(
    rivets, owner, letters, tmp_path
):
    kept, port = letters
    start = timezone.localdate() + timedelta(days=12)
    text = f"stage,start,assembly,callout,each\nFin,{start},Skin,AN426AD3-3.5,60\n"
    found = importing.preview(name="plan.csv", data=text.encode())
    importing.apply(found=found, by=owner, now=timezone.now())
    paths.prepare(tmp_path)
    queue = tmp_path / "broker" / "queue"
    assert list(queue.iterdir()) == []
    command = (
        "celery -A inventory.config.celery worker -B --pool threads -c 2 -l warning"
    )
    worker = subprocess.Popen(
        [
            sys.executable,
            "-m",
            *command.split(),
            "--schedule",
            str(tmp_path / "beat"),
        ],
        cwd=settings.ROOT,
        env={
            **os.environ,
            "GRIPCOUNT_DATA": str(tmp_path),
            "GRIPCOUNT_DATABASE": database_url(),
            "GRIPCOUNT_SMTP": f"smtp://127.0.0.1:{port}",
            "GRIPCOUNT_BROKER": "",
        },
    )
    try:
        until = time.monotonic() + 70
        while not kept.arrived and time.monotonic() < until:
            time.sleep(0.2)
    finally:
        worker.terminate()
        worker.wait(20)
    (letter,) = kept.arrived
    assert "3/32 flush" in letter["Subject"]
    body = letter.get_payload(decode=True).decode()
    assert f"starts {start}" in body
    assert "40 on hand" in body
