"""What is kept to be believed later: pictures, and how the record was last proven."""

import hashlib
import os
import tempfile
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path

from inventory.ledger.models import LedgerCheck, Photograph
from inventory.ledger.rules import Flaw, photograph_name
from inventory.people.models import User

# The record is proven whole, but no page and no letter is longer than this for it.
MOST_FLAWS = 100


def keep_photograph(  # noqa: PLR0913 - of what, the picture, by whom and when
    *,
    assembly: int | None = None,
    lot: int | None = None,
    picture: bytes,
    caption: str,
    folder: Path,
    by: User,
    now: datetime,
) -> Photograph:
    """Keep a picture that was made anew from an upload; the same one is kept once.

    It is of one assembly or of one lot's papers, named by its key. Its file is on the
    disk, whole, before the row that names it; one that is there and torn is mended.
    """
    thing = {"assembly_id": assembly} if lot is None else {"lot_id": lot}
    mark = hashlib.sha256(picture).hexdigest()
    file = folder / photograph_name(mark)
    if not file.is_file() or hashlib.sha256(file.read_bytes()).hexdigest() != mark:
        write_whole(file, picture, within=folder)
    return Photograph.objects.get_or_create(
        **thing,
        sha256=mark,
        defaults={"at": now, "by": by, "caption": caption.strip()[:160]},
    )[0]


def write_whole(file: Path, data: bytes, *, within: Path) -> None:
    """Write a file so that a power cut leaves it whole or not there at all.

    Its bytes are forced to the disk, then its name, then the names of the folders below
    `within` that lead to it. Only the owner may read it.
    """
    file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    with tempfile.NamedTemporaryFile(dir=file.parent, delete=False) as aside:
        try:
            aside.write(data)
            aside.flush()
            os.fsync(aside.fileno())
            os.replace(aside.name, file)
        except BaseException:
            os.unlink(aside.name)
            raise
    for folder in (*file.relative_to(within).parents,):
        _force(within / folder)


def _force(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def keep_check(*, found: Iterable[Flaw], now: datetime) -> LedgerCheck:
    """Keep how the record was proven; it stands on the settings page."""
    said = [str(flaw) for flaw in found]
    return LedgerCheck.objects.update_or_create(
        pk=1, defaults={"at": now, "found": said[:MOST_FLAWS]}
    )[0]
