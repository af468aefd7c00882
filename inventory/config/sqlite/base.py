"""SQLite for many threads of one process: they queue for the one writer's lock.

SQLite itself lets a writer that finds another try again after sleeps that grow to a tenth
of a second, whoever came first. Threads of one process can wait for each other instead.
"""

import threading
from typing import Any

from django.db.backends.sqlite3 import base

# What Django calls at a transaction's ends is not in its published types.
_Wrapper: Any = base.DatabaseWrapper
# A thread that waited so long tries as if there were no queue, and SQLite answers.
PATIENCE = 20.0
_lock = threading.Lock()


class DatabaseWrapper(_Wrapper):  # type: ignore[misc]
    """A connection that holds its process's lock from BEGIN to COMMIT or ROLLBACK."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.has_lock = False

    def _start_transaction_under_autocommit(self) -> None:
        self.has_lock = _lock.acquire(timeout=PATIENCE)
        try:
            super()._start_transaction_under_autocommit()
        except BaseException:
            self._let_go()
            raise

    def _commit(self) -> None:
        super()._commit()
        self._let_go()

    def _rollback(self) -> None:
        try:
            super()._rollback()
        finally:
            self._let_go()

    def _close(self) -> None:
        try:
            super()._close()
        finally:
            self._let_go()

    def _let_go(self) -> None:
        if self.has_lock:
            self.has_lock = False
            _lock.release()
