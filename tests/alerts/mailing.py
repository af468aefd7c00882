"""A mail server on loopback for tests: with a sign-in and TLS where they are wanted."""

import contextlib
import socket
import ssl
import subprocess
from email import message_from_bytes

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult

WHO = ("workshop", "a p@ss:phrase")


class Letters:
    """Keeps what arrives, and whether it came encrypted and after a sign-in."""

    def __init__(self):
        self.arrived = []
        self.how = []

    async def handle_DATA(self, server, session, envelope):
        self.arrived.append(message_from_bytes(envelope.content))
        self.how.append((session.ssl is not None, bool(session.authenticated)))
        return "250 kept"


def sign_in(server, session, envelope, mechanism, data):
    """Whether the name and the password are those of `WHO`."""
    wanted = tuple(part.encode() for part in WHO)
    return AuthResult(success=(data.login, data.password) == wanted, handled=False)


class Encrypted(Controller):
    """A server that asks for STARTTLS before anything else."""

    def __init__(self, handler, context, **options):
        self.context = context
        super().__init__(handler, **options)

    def factory(self):
        return SMTP(
            self.handler,
            require_starttls=True,
            tls_context=self.context,
            authenticator=sign_in,
            auth_required=True,
        )


def certificate(folder):
    """A certificate for this machine, valid for a day: its file, and the server's side."""
    files = folder / "cert.pem", folder / "key.pem"
    line = (
        "openssl req -x509 -newkey rsa:2048 -nodes -days 1 -subj /CN=localhost "
        f"-addext subjectAltName=DNS:localhost -out {files[0]} -keyout {files[1]}"
    )
    subprocess.run(line.split(), check=True, capture_output=True)
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.load_cert_chain(*files)
    return files[0], context


def free_port():
    """A port nobody listens on now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextlib.contextmanager
def running(server):
    """The server's letters, while it runs."""
    server.start()
    try:
        yield server.handler
    finally:
        server.stop()


def unfolded(letter):
    """Its subject on one line, as a person sees it (RFC 5322, 2.2.3)."""
    return " ".join(letter["Subject"].split())
