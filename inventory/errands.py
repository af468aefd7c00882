"""Errands: what a request leaves to a thread of its own, so that it need not wait.

A message to the worker is one: a broker that is down takes seconds to say so. None of
them may matter: the row in the database is the truth, and the worker's clock finds it.
"""

import atexit
import logging
import os
import threading
import time
from collections.abc import Callable

log = logging.getLogger(__name__)
# After a failure nothing is tried for so long; leaving, a process waits so long. Seconds.
BREAK, LEAVING = 30.0, 2.0
# An errand asked for again waits so long after it was run, so that many become one.
PAUSE = 1.0


class Errands:
    """Runs one errand after the other; one that waits already is not taken twice."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.clock = clock
        self.waiting: dict[str, Callable[[], object]] = {}
        self.is_out = self.is_hurried = False
        self.no_more_until = clock()
        self.changed = threading.Condition()

    def send(self, name: str, errand: Callable[[], object]) -> bool:
        """Take an errand on; false where it waits already or all have a break."""
        with self.changed:
            if name in self.waiting or self.clock() < self.no_more_until:
                return False
            self.waiting[name] = errand
            self.changed.notify_all()
            if not self.is_out:
                self.is_out = True
                threading.Thread(target=self._run, name="errands", daemon=True).start()
            return True

    def wait(self, seconds: float | None = None) -> bool:
        """Wait until all errands are done; false if they took longer."""
        with self.changed:
            self.is_hurried = True
            self.changed.notify_all()
            try:
                return self.changed.wait_for(lambda: not self.is_out, seconds)
            finally:
                self.is_hurried = False

    def _next(self, last: str) -> str:
        """The name of the next errand, `last` only after its pause; '' for none."""
        self.changed.wait_for(
            lambda: self.is_hurried or any(name != last for name in self.waiting), PAUSE
        )
        others = (name for name in self.waiting if name != last)
        return next(others, next(iter(self.waiting), ""))

    def _run(self) -> None:
        """The thread ends after the last errand: an idle shop has none."""
        name = ""
        while True:
            with self.changed:
                name = self._next(name)
                if not name:
                    self.is_out = False
                    self.changed.notify_all()
                    return
                errand = self.waiting.pop(name)
            try:
                errand()
            except Exception:
                log.exception(
                    "%s was left undone, and so is all for %.0f s", name, BREAK
                )
                self._have_a_break()

    def _have_a_break(self) -> None:
        with self.changed:
            self.waiting.clear()
            self.no_more_until = self.clock() + BREAK


_errands = Errands()


def send(name: str, errand: Callable[[], object]) -> bool:
    """Run `errand` soon, off this thread, unless one of its name waits."""
    return _errands.send(name, errand)


def wait(seconds: float | None = None) -> bool:
    """Wait until all errands are done; false if they took longer."""
    return _errands.wait(seconds)


def _forget() -> None:
    """After a fork the thread is the other process's."""
    global _errands
    _errands = Errands()


atexit.register(wait, LEAVING)
os.register_at_fork(after_in_child=_forget)
