"""Letters leave as `GRIPCOUNT_SMTP` says: plain, by TLS, by STARTTLS, with a sign-in.

Without a mail server they become files in the shop's outbox.
"""

from email import message_from_bytes
from urllib.parse import quote

import pytest
from aiosmtpd.controller import Controller
from django.core import mail

from inventory.alerts import actions
from inventory.config import engines
from inventory.planning.actions import importing
from tests.alerts.mailing import (
    WHO,
    Encrypted,
    Letters,
    certificate,
    free_port,
    running,
    sign_in,
    unfolded,
)

pytestmark = [pytest.mark.slow, pytest.mark.django_db]
SIGN_IN = ":".join(quote(part, safe="") for part in WHO)


@pytest.fixture
def due(owner, now, rivets):
    """A shop with something to tell, which is on its page already."""
    text = "stage,start,assembly,callout,each\nFin,2027-03-12,Skin,AN426AD3-3.5,60\n"
    found = importing.preview(name="plan.csv", data=text.encode())
    importing.apply(found=found, by=owner, now=now)
    actions.settle(now=now)


@pytest.fixture
def by_smtp(settings):
    """Sets the shop's mail server by its address."""

    def use(address):
        settings.EMAIL_BACKEND = engines.mail_backend(address)
        for name, value in engines.mail_server(address).items():
            setattr(settings, name, value)

    return use


@pytest.fixture
def trusted(tmp_path, monkeypatch):
    """A certificate that this process trusts, and the server's side of it."""
    file, context = certificate(tmp_path)
    monkeypatch.setenv("SSL_CERT_FILE", str(file))
    return context


def test_plainly_and_without_a_sign_in(due, by_smtp, now):
    port = free_port()
    server = Controller(Letters(), hostname="localhost", port=port)
    with running(server) as kept:
        by_smtp(f"smtp://localhost:{port}")
        assert actions.deliver(now=now) == 1
    assert kept.how == [(False, False)]
    assert "3/32 flush" in unfolded(kept.arrived[0])


def test_by_starttls_with_a_sign_in(due, by_smtp, trusted, now):
    port = free_port()
    server = Encrypted(Letters(), trusted, hostname="localhost", port=port)
    with running(server) as kept:
        by_smtp(f"smtp+tls://{SIGN_IN}@localhost:{port}")
        assert actions.deliver(now=now) == 1
    assert kept.how == [(True, True)]


def test_by_tls_from_the_start_with_a_sign_in(due, by_smtp, trusted, now):
    port = free_port()
    server = Controller(
        Letters(),
        hostname="localhost",
        port=port,
        ssl_context=trusted,
        authenticator=sign_in,
        auth_require_tls=False,  # the whole connection is encrypted
    )
    with running(server) as kept:
        by_smtp(f"smtps://{SIGN_IN}@localhost:{port}")
        assert actions.deliver(now=now) == 1
    assert [signed_in for _encrypted, signed_in in kept.how] == [True]


def test_a_wrong_password_sends_nothing_and_the_letter_stays_due(
    due, by_smtp, trusted, now
):
    port = free_port()
    server = Encrypted(Letters(), trusted, hostname="localhost", port=port)
    with running(server) as kept:
        by_smtp(f"smtp+tls://{SIGN_IN}x@localhost:{port}")
        with pytest.raises(OSError, match="535"):
            actions.deliver(now=now)
        assert kept.arrived == []
        by_smtp(f"smtp+tls://{SIGN_IN}@localhost:{port}")
        assert actions.deliver(now=now) == 1


def test_a_certificate_nobody_vouches_for_is_refused(due, by_smtp, tmp_path, now):
    _file, context = certificate(tmp_path)
    port = free_port()
    server = Encrypted(Letters(), context, hostname="localhost", port=port)
    with running(server) as kept:
        by_smtp(f"smtp+tls://{SIGN_IN}@localhost:{port}")
        with pytest.raises(OSError, match="certificate verify failed"):
            actions.deliver(now=now)
        assert kept.arrived == []


def test_without_a_server_letters_are_files_in_the_outbox(due, settings, tmp_path, now):
    settings.EMAIL_BACKEND = engines.mail_backend(None)
    settings.EMAIL_FILE_PATH = tmp_path / "outbox"
    assert actions.deliver(now=now) == 1
    (file,) = (tmp_path / "outbox").iterdir()
    letter = message_from_bytes(file.read_bytes().partition(b"-" * 79)[0])
    assert "3/32 flush" in unfolded(letter)
    assert letter["To"] == "marlow@example.org"
    assert mail.outbox == []
