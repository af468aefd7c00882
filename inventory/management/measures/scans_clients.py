"""The benches of the benchmark of scans: each a thread with a connection of its own.

Run as a module, so that what they cost is not the server's: the work comes as JSON on
the standard input, and what was measured goes out the same way. Standard library only.
"""

import http.client
import json
import os
import sys
import threading
import time
import uuid
from collections.abc import Callable, Iterator
from itertools import cycle
from pathlib import Path
from typing import Any

EMPTY, SCANS = "/api/v1/items/0", "/api/v1/scans"


class Bench:
    """One client: a token, a connection that stays, bins of its own."""

    def __init__(self, shop: dict[str, Any], at: int) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", shop["port"])
        self.headers = {
            "Authorization": f"Bearer {shop['tokens'][at]}",
            "Content-Type": "application/json",
        }
        self.codes = self._codes(shop, at)
        self.slow: list[float] = []

    def _codes(self, shop: dict[str, Any], at: int) -> Iterator[str]:
        """A movement is three scans: a bin, a quantity, Enter."""
        yield shop["sheet"]
        bins = shop["bins"]
        for bin in cycle(bins[at % len(bins) :] + bins[: at % len(bins)]):
            yield from (bin, "2", shop["enter"])

    def ask(self, method: str, path: str, body: str | None = None) -> int:
        self.connection.request(method, path, body, self.headers)
        answer = self.connection.getresponse()
        answer.read()
        return answer.status

    def empty(self) -> None:
        """A call that is authenticated and does nothing."""
        if self.ask("GET", EMPTY) != 404:
            raise RuntimeError("the empty call was not answered")

    def scan(self) -> None:
        """The next code; its milliseconds are kept."""
        body = json.dumps({"id": str(uuid.uuid4()), "code": next(self.codes)})
        began = time.perf_counter()
        if self.ask("POST", SCANS, body) != 200:
            raise RuntimeError("a scan was not taken")
        self.slow.append((time.perf_counter() - began) * 1000)


def processor_ms(pid: int) -> float:
    """Milliseconds of a processor that a process has had (proc(5): utime, stime)."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) * 1000 / os.sysconf("SC_CLK_TCK")


def rate(
    works: list[Callable[[], None]], seconds: float, pid: int
) -> tuple[float, float]:
    """How many a second all of them do together, and what one costs that process, ms."""
    done, until = [0] * len(works), time.perf_counter() + seconds

    def run(at: int) -> None:
        while time.perf_counter() < until:
            works[at]()
            done[at] += 1

    threads = [threading.Thread(target=run, args=(at,)) for at in range(len(works))]
    began, before = time.perf_counter(), processor_ms(pid)
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    count = max(1, sum(done))
    cost = (processor_ms(pid) - before) / count
    return count / (time.perf_counter() - began), cost


def main(shop: dict[str, Any]) -> dict[str, Any]:
    """Calls and scans by turns: a second, and the server's processor ms for one.

    `ms` is what each scan took, from its sending to its answer.
    """
    benches = [Bench(shop, at) for at in range(shop["clients"])]
    empty, scan = [each.empty for each in benches], [each.scan for each in benches]
    pid = shop["server"]
    rate(empty, shop["warm"], pid)
    rate(scan, shop["warm"], pid)
    for each in benches:
        each.slow.clear()
    empties, scans = [], []
    for _ in range(shop["turns"]):
        empties.append(rate(empty, shop["seconds"], pid))
        scans.append(rate(scan, shop["seconds"], pid))
    slow = sorted(ms for each in benches for ms in each.slow)
    return {"empties": empties, "scans": scans, "ms": slow}


if __name__ == "__main__":
    print(json.dumps(main(json.load(sys.stdin))))
