"""Pictures kept as evidence: what went in, and the papers that came with a lot."""

import hashlib
from datetime import datetime

from django.core.files.base import ContentFile
from django.core.files.storage import FileSystemStorage

from inventory.ledger.models import Photograph
from inventory.people.models import User


def keep_photograph(  # noqa: PLR0913 - of what, the picture, by whom and when
    *,
    assembly: int | None = None,
    lot: int | None = None,
    picture: bytes,
    caption: str,
    store: FileSystemStorage,
    by: User,
    now: datetime,
) -> Photograph:
    """Keep a picture that was made anew from an upload; the same one is kept once.

    It is of one assembly or of one lot's papers, named by its key.
    The file is written before the row that names it.
    """
    thing = {"assembly_id": assembly} if lot is None else {"lot_id": lot}
    mark = hashlib.sha256(picture).hexdigest()
    name = photograph_name(mark)
    if not store.exists(name):
        store.save(name, ContentFile(picture))
    return Photograph.objects.get_or_create(
        **thing,
        sha256=mark,
        defaults={"at": now, "by": by, "caption": caption.strip()[:160]},
    )[0]


def photograph_name(mark: str) -> str:
    """Where a photograph lies in the shop's folder."""
    return f"photographs/{mark[:2]}/{mark}.jpg"
