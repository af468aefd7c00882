"""What a client sends under an id of its own is written once, however often it comes.

Source: the Idempotency-Key draft, draft-ietf-httpapi-idempotency-key-header.
"""

from typing import Protocol, TypeVar

from inventory.errors import Refused


class Marked(Protocol):
    """A row that keeps the fingerprint of what was asked under its id."""

    fingerprint: str


Row = TypeVar("Row", bound=Marked)


def same(row: Row, scan_id: str, mark: str) -> Row:
    """The row of an id that came before, if it asked the same.

    Errors: `ledger.scan_id_reused` where the id came with something else.
    """
    if row.fingerprint != mark:
        raise Refused(
            "ledger.scan_id_reused",
            "This id was used for something else already: nothing moved. Scan again.",
            {"scan_id": scan_id},
        )
    return row
