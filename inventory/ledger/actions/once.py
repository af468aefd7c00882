"""What a client sends under an id of its own is written once, however often it comes.

Source: the Idempotency-Key draft, draft-ietf-httpapi-idempotency-key-header.
"""

from collections.abc import Callable
from typing import Protocol, TypeVar

from django.db import IntegrityError, transaction

from inventory.errors import Refused


class Marked(Protocol):
    """A row that keeps the fingerprint of what was asked under its id."""

    fingerprint: str


Row = TypeVar("Row", bound=Marked)


def once(
    scan_id: str, mark: str, find: Callable[[], Row | None], make: Callable[[], Row]
) -> tuple[Row, bool]:
    """The row of an id, new or as it was. Second value: whether it was there.

    `make` runs inside a savepoint: what a racing twin wrote first undoes it whole.
    Errors: `ledger.scan_id_reused` where the id came with something else.
    """
    known = find()
    if known is None:
        try:
            with transaction.atomic():
                return make(), False
        except IntegrityError:
            known = find()
            if known is None:
                raise
    if known.fingerprint != mark:
        raise Refused(
            "ledger.scan_id_reused",
            "This id was used for something else already: nothing moved. Scan again.",
            {"scan_id": scan_id},
        )
    return known, True
