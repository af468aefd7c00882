"""SQLite for many threads of one process: they queue for the one writer's place.

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
_place = threading.Lock()


class DatabaseWrapper(_Wrapper):  # type: ignore[misc]
    """A connection that holds its process's place from BEGIN to COMMIT or ROLLBACK."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.has_place = False

    def _start_transaction_under_autocommit(self) -> None:
        self.has_place = _place.acquire(timeout=PATIENCE)
        try:
            super()._start_transaction_under_autocommit()
        except BaseException:
            self._leave_place()
            raise

    def _commit(self) -> None:
        super()._commit()
        self._leave_place()

    def _rollback(self) -> None:
        try:
            super()._rollback()
        finally:
            self._leave_place()

    def _close(self) -> None:
        try:
            super()._close()
        finally:
            self._leave_place()

    def _leave_place(self) -> None:
        if self.has_place:
            self.has_place = False
            _place.release()
