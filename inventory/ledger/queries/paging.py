"""Long reads, page by page."""

from collections.abc import Iterator
from typing import TypeVar

from django.db.models import Model, QuerySet

PAGE = 1000
Row = TypeVar("Row", bound=Model)


def in_pages(rows: QuerySet[Row]) -> Iterator[Row]:
    """Rows by key, page by page: an open cursor would hold SQLite's writers up."""
    page = list(rows.order_by("pk")[:PAGE])
    while page:
        yield from page
        page = list(rows.filter(pk__gt=page[-1].pk).order_by("pk")[:PAGE])
