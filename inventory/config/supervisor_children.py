"""Child processes: started, tended, started again when they die, stopped together.

Each child leads a process group of its own, so that Ctrl-C reaches it through us only
and nothing it started outlives it.
"""

import contextlib
import ctypes
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from inventory.config.bootstrap import ROOT, say

PR_SET_PDEATHSIG = 1
LONGEST_PAUSE = 30.0
LASTED = 5.0
LOG_LIMIT = 5 * 1024 * 1024


def pause_before_restart(failures: int) -> float:
    """Seconds to wait after the n-th failure in a row: a quarter, a half, 1 ... 30."""
    return float(min(LONGEST_PAUSE, 2.0 ** (failures - 3)))


def die_with(parent: int) -> Callable[[], None]:
    """What a child does first, so that it stops when its supervisor is killed."""
    libc = ctypes.CDLL(None) if sys.platform == "linux" else None

    def ask_the_kernel() -> None:
        if libc is not None:
            libc.prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
        if os.getppid() != parent:  # killed before we could ask
            os._exit(1)

    return ask_the_kernel


class KeptProcess:
    """One process that is to be kept running."""

    def __init__(self, name: str, command: Sequence[str], log: Path) -> None:
        self.name = name
        self.command = command
        self.log = log
        self.process: subprocess.Popen[bytes] | None = None
        self.failures = 0
        self.changed_at = 0.0

    def start(self, environ: Mapping[str, str]) -> None:
        """Start it, its output going to its log."""
        self.log.parent.mkdir(exist_ok=True)
        grown = self.log.exists() and self.log.stat().st_size > LOG_LIMIT
        with open(self.log, "wb" if grown else "ab") as log:
            self.process = subprocess.Popen(
                self.command,
                env=environ,
                cwd=ROOT,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                start_new_session=True,
                preexec_fn=die_with(os.getpid()),
            )
        self.changed_at = time.monotonic()

    def has_died(self) -> bool:
        """Whether it runs no longer; clears away what it left behind."""
        if self.process is None or self.process.poll() is None:
            return False
        code, now = self.process.returncode, time.monotonic()
        self.kill()
        lasted = now - self.changed_at >= LASTED
        self.failures = 1 if lasted else self.failures + 1
        self.process, self.changed_at = None, now
        wait = pause_before_restart(self.failures)
        say(f"The {self.name} stopped (code {code}); again in {wait:.2g} s: {self.log}")
        return True

    def is_due(self) -> bool:
        """Whether it is down and has waited long enough."""
        waited = time.monotonic() - self.changed_at
        return self.process is None and waited >= pause_before_restart(self.failures)

    def ask_to_stop(self) -> None:
        """A polite stop: it finishes what it is at."""
        if self.process is not None and self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)

    def runs(self) -> bool:
        """Whether it is still there."""
        return self.process is not None and self.process.poll() is None

    def kill(self) -> None:
        """End its whole group, whatever is left of it."""
        if self.process is None:
            return
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()

    def last_words(self, lines: int = 15) -> str:
        """The end of its log."""
        text = self.log.read_text(encoding="utf-8", errors="replace")
        return "\n".join(text.splitlines()[-lines:])


class Crew:
    """All children, and the signals that stop them."""

    def __init__(
        self, children: Iterable[KeptProcess], environ: Mapping[str, str]
    ) -> None:
        self.children = list(children)
        self.environ = environ
        self.signals = 0

    def listen(self) -> None:
        """From now on Ctrl-C, a polite kill and a closed terminal mean: stop."""
        signal.signal(signal.SIGINT, self._count)
        signal.signal(signal.SIGTERM, self._count)
        # Under nohup a closed terminal is to be outlived.
        if signal.getsignal(signal.SIGHUP) is not signal.SIG_IGN:
            signal.signal(signal.SIGHUP, self._count)

    def start(self) -> None:
        """Start all of them."""
        for child in self.children:
            child.start(self.environ)

    def tend(self) -> list[KeptProcess]:
        """Start again what is due; the children that died since the last look."""
        dead = [child for child in self.children if child.has_died()]
        for child in self.children:
            if child.is_due():
                child.start(self.environ)
        return dead

    def stop(self, patience: float = 5.0) -> None:
        """Ask all to stop, wait, then end what is left. A second signal hurries."""
        for child in self.children:
            child.ask_to_stop()
        seen, deadline = self.signals, time.monotonic() + patience
        while any(child.runs() for child in self.children):
            if self.signals > seen or time.monotonic() > deadline:
                break
            time.sleep(0.05)
        for child in self.children:
            child.kill()

    def _count(self, _number: int, _frame: object) -> None:
        self.signals += 1
