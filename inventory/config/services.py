"""What the checks need beside Python: servers, a browser, a few system libraries.

As root it installs and starts what is missing; otherwise it prints the line that does.
It never lets a check be left out.
"""

import contextlib
import os
import shutil
import socket
import subprocess
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from inventory.config.bootstrap import CannotStart, apt_install, has_zbar, may_apt, say

# Debian's Chromium without windows: it does the same for a third less of a processor.
BROWSER = "chromium-headless-shell"
POSTGRES = "postgres://postgres@127.0.0.1:5432/postgres"
TRUST = "host all all 127.0.0.1/32 trust\n"
POLICY = Path("/usr/sbin/policy-rc.d")
STARTS_WITHIN = 60.0


@dataclass(frozen=True)
class Server:
    """A server the tests talk to on this machine."""

    package: str
    port: int
    program: str
    start: Callable[[], None]
    by_hand: str

    def answers(self) -> bool:
        """Whether something listens on its port."""
        try:
            socket.create_connection(("127.0.0.1", self.port), timeout=2).close()
        except OSError:
            return False
        return True

    def is_installed(self) -> bool:
        """Whether it is here, running or not."""
        return self.answers() or _program(self.program) is not None


def ensure() -> None:
    """Return when everything is there and answers; else say what is to be done."""
    missing = missing_packages()
    if missing:
        install(missing)
    if "postgresql" in missing:
        trust_this_machine()
    for server in SERVERS:
        if not server.answers():
            start(server)
    check_postgres_trusts()


def missing_packages() -> list[str]:
    """Debian packages the checks need and the machine lacks."""
    servers = [each.package for each in SERVERS if not each.is_installed()]
    return servers + [name for name, is_here in OTHERS.items() if not is_here()]


def install(packages: list[str]) -> None:
    """Install by apt, or say the line and stop."""
    line = f"apt install --no-install-recommends {' '.join(packages)}"
    if not may_apt():
        raise CannotStart(f"The checks need more from the system. Run: sudo {line}")
    say(f"Installing from Debian, for the checks only: {' '.join(packages)}")
    with services_stay_down():
        done = apt_install(packages)
    if not done or missing_packages():
        raise CannotStart(f"The install did not work out. Try it by hand: {line}")


@contextlib.contextmanager
def services_stay_down() -> Iterator[None]:
    """No package starts its server: where nothing runs services that would fail."""
    if POLICY.exists():
        yield
        return
    POLICY.write_text("#!/bin/sh\nexit 101\n")
    POLICY.chmod(0o755)
    try:
        yield
    finally:
        POLICY.unlink()


def trust_this_machine() -> None:
    """Let a PostgreSQL that only we installed take connections from here."""
    for rules in Path("/etc/postgresql").glob("*/*/pg_hba.conf"):
        rules.write_text(TRUST + rules.read_text())


def start(server: Server) -> None:
    """Start a server and wait until it answers."""
    if os.geteuid() != 0:
        raise CannotStart(f"{server.program} does not run. Run: {server.by_hand}")
    say(f"Starting {server.package}")
    server.start()
    deadline = time.monotonic() + STARTS_WITHIN
    while not server.answers():
        if time.monotonic() > deadline:
            raise CannotStart(f"{server.package} does not answer on {server.port}.")
        time.sleep(0.2)


def check_postgres_trusts() -> None:
    """The tests make databases of their own, as the user postgres."""
    line = ["psql", "--no-password", "-c", "select 1", POSTGRES]
    for attempt in (1, 2, 3):
        done = subprocess.run(line, capture_output=True, check=False, text=True)
        if done.returncode == 0:
            return
        time.sleep(attempt)
    raise CannotStart(
        "PostgreSQL on 127.0.0.1:5432 lets nobody in as postgres without a password."
        f" The checks need this line first in its pg_hba.conf: {TRUST.strip()}"
    )


def _program(name: str) -> str | None:
    # Debian keeps some servers where only root's PATH looks.
    return shutil.which(name, path=f"{os.environ.get('PATH', '')}:/usr/sbin:/sbin")


def _quietly(*line: str) -> None:
    with open(os.devnull, "wb") as nothing:
        subprocess.run(line, stdout=nothing, stderr=nothing, check=False)


def _start_postgres() -> None:
    for data in sorted(Path("/etc/postgresql").glob("*/*")):
        _quietly("pg_ctlcluster", data.parent.name, data.name, "start")


def _start_redis() -> None:
    _quietly("redis-server", "--bind", "127.0.0.1", "--daemonize", "yes", "--save", "")


def _start_rabbitmq() -> None:
    # A node name that resolves wherever the machine's own name does not.
    os.environ.setdefault("RABBITMQ_NODENAME", "rabbit@localhost")
    _quietly(_program("rabbitmq-server") or "rabbitmq-server", "-detached")


SERVERS = [
    Server(
        "postgresql",
        5432,
        "pg_ctlcluster",
        _start_postgres,
        "sudo service postgresql start",
    ),
    Server(
        "redis-server",
        6379,
        "redis-server",
        _start_redis,
        "sudo service redis-server start",
    ),
    Server(
        "rabbitmq-server",
        5672,
        "rabbitmq-server",
        _start_rabbitmq,
        "sudo service rabbitmq-server start",
    ),
]
OTHERS: dict[str, Callable[[], bool]] = {
    BROWSER: lambda: _program(BROWSER) is not None,
    "libzbar0": has_zbar,
    "openssl": lambda: _program("openssl") is not None,
    "poppler-utils": lambda: _program("pdftoppm") is not None,
    "fonts-dejavu-core": Path("/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf").exists,
}
