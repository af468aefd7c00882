"""What a scan costs beside an empty call with the same token, on the program's own server.

A scratch shop is served as any other (web server, worker, clock); benches of their own
process scan a bin, key a quantity and press Enter. On SQLite, or on the PostgreSQL server
that GRIPCOUNT_DATABASE names, there in a database that is made for it and dropped.
"""

import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from typing import Any

from django.conf import settings
from django.db import connection

from inventory.management.measures.shape import AtMost, Measure, MeasuredRow

CLIENTS = (1, 8, 32)
WARM, SECONDS, TURNS = 2.0, 3.0, 3
# Shares of the empty call's rate that a scan shall reach with eight clients, by engine.
GOAL = {"sqlite": 0.70, "postgresql": 0.90}
SLOWEST, STARTS_WITHIN = 3.0, 120.0


def take() -> tuple[MeasuredRow, ...]:
    """Scans a second by the number of clients, and their slowest hundredth."""
    with served(max(CLIENTS)) as shop:
        return tuple(row for clients in CLIENTS for row in _rows(shop, clients))


def _rows(shop: Mapping[str, Any], clients: int) -> tuple[MeasuredRow, ...]:
    asked = {"clients": clients, "warm": WARM, "seconds": SECONDS, "turns": TURNS}
    found = _clients({**shop, **asked})
    (empties, call_ms), (scans, scan_ms) = (
        [median(each) for each in zip(*found[name], strict=True)]
        for name in ("empties", "scans")
    )
    ms, engine = found["ms"], connection.vendor
    half, most, last = (ms[int(len(ms) * part)] for part in (0.5, 0.95, 0.99))
    said = f"{clients} client{'s' if clients > 1 else ''}, {engine}"
    how = (
        f"{TURNS} turns of {SECONDS:.0f} s each; a bin, a quantity, Enter; {empties:.0f} "
        f"empty calls a second; a scan's median {half:.1f} ms, 95th percentile "
        f"{most:.1f}, 99th {last:.1f}"
    )
    return (
        MeasuredRow(
            name=f"scans, {said}",
            figure=scans,
            unit="a second",
            ratio=scans / empties,
            against="empty calls with a token",
            target=GOAL[engine] * empties if clients == 8 else None,
            how=how,
        ),
        AtMost(
            name=f"a scan's processor time, {said}",
            figure=scan_ms,
            unit="ms",
            ratio=scan_ms / call_ms,
            against="an empty call's, in the web server",
            target=None,
            how="what other processes do meanwhile hardly tells on this one",
        ),
        AtMost(
            name=f"slowest of a hundred scans, {said}",
            figure=last,
            unit="ms",
            ratio=last / half,
            against="the median",
            target=SLOWEST * half,
            how=how,
        ),
    )


@contextmanager
def served(clients: int) -> Iterator[dict[str, Any]]:
    """A scratch shop that is served: its port and codes, and a token a client."""
    from inventory.management.measures import scans_shop, scratch

    with scratch.scratch(), tempfile.TemporaryDirectory() as folder:
        shop = scans_shop.furnish(clients)
        ours = {"GRIPCOUNT_DATA": folder, "GRIPCOUNT_DATABASE": scratch.url()}
        with _server({**os.environ, **ours}) as (port, server):
            yield {**shop, "port": port, "server": server}


@contextmanager
def _server(environ: Mapping[str, str]) -> Iterator[tuple[int, int]]:
    """The shop's own server with its worker; gives its port and the web server's pid."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    line = [sys.executable, "manage.py", "serve", "--port", str(port)]
    serving = subprocess.Popen(
        line, env=environ, cwd=settings.ROOT, stdout=subprocess.DEVNULL
    )
    try:
        until = time.monotonic() + STARTS_WITHIN
        while not _answers(port):
            if serving.poll() is not None or time.monotonic() > until:
                raise RuntimeError("the scratch shop was not served")
            time.sleep(0.1)
        yield port, _web_server_of(serving.pid)
    finally:
        serving.send_signal(signal.SIGTERM)
        serving.wait()


def _web_server_of(serving: int) -> int:
    """The child of the supervisor that answers requests (proc(5))."""
    children = Path(f"/proc/{serving}/task/{serving}/children").read_text().split()
    for pid in children:
        if b"waitress" in Path(f"/proc/{pid}/cmdline").read_bytes():
            return int(pid)
    raise RuntimeError("the scratch shop has no web server")


def _answers(port: int) -> bool:
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


def _clients(asked: Mapping[str, Any]) -> dict[str, Any]:
    """What the benches measured, in a process of their own."""
    done = subprocess.run(
        [sys.executable, "-m", "inventory.management.measures.scans_clients"],
        input=json.dumps(asked),
        cwd=settings.ROOT,
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    found: dict[str, Any] = json.loads(done.stdout)
    return found


MEASURE = Measure(
    name="scans",
    tells="scans a second beside empty calls, at 1, 8 and 32 benches",
    take=take,
)
