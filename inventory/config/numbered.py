"""The id of the request that is answered just now, for every line that is logged."""

import logging
from contextvars import ContextVar

now: ContextVar[str] = ContextVar("request", default="")


class OfRequest(logging.Filter):
    """Names the request in each line that is logged while it is answered."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Every line passes."""
        record.request = now.get()
        return True
