"""Lists and everything, as files to keep."""

import tempfile
from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path

from django.conf import settings
from django.http import (
    FileResponse,
    Http404,
    HttpRequest,
    StreamingHttpResponse,
)
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.backups.actions.archiving import archive_to_send
from inventory.sheets import csv_lines, write_xlsx
from inventory.web.lists import LISTS, Listed

# Lines that are sent at once.
CHUNK = 200
# So much of a workbook is held in memory, the rest on disk.
HELD = 1 << 20


@require_safe
def list_csv(request: HttpRequest, name: str) -> StreamingHttpResponse:
    """A list as CSV, sent as it is read."""
    found = _listed(name)
    return StreamingHttpResponse(
        _chunks(csv_lines(found.header, found.rows())),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}.csv"'},
    )


@require_safe
def list_xlsx(request: HttpRequest, name: str) -> FileResponse:
    """The same as a workbook."""
    found = _listed(name)
    out = tempfile.SpooledTemporaryFile(HELD)  # noqa: SIM115 - the answer closes it
    write_xlsx(out, name, found.header, found.rows())
    out.seek(0)
    return FileResponse(out, as_attachment=True, filename=f"{name}.xlsx")


@require_safe
def archive(request: HttpRequest) -> FileResponse:
    """All that the shop holds, as one file."""
    made = archive_to_send(folder=Path(settings.DATA), now=timezone.now())
    return FileResponse(made, as_attachment=True, filename=Path(made.name).name)


def _listed(name: str) -> Listed:
    if name not in LISTS:
        raise Http404(f"There is no list of {name}.")
    return LISTS[name]


def _chunks(lines: Iterable[str]) -> Iterator[str]:
    left = iter(lines)
    while some := list(islice(left, CHUNK)):
        yield "".join(some)
