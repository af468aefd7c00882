"""A zip whose last 64 bytes are the SHA-256 of all before them.

The zip format ends in a comment, which holds the seal: any program opens the file, and a
single changed bit anywhere in it is seen.
"""

import hashlib
import os
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from inventory.errors import Refused

MANIFEST = "manifest.json"
SEAL, PIECE = 64, 1 << 20


@contextmanager
def sealing(file: Path) -> Iterator[zipfile.ZipFile]:
    """What is written into it is sealed; the file has its name only once it is on disk."""
    handle, aside = tempfile.mkstemp(dir=file.parent, prefix=".making-")
    os.close(handle)
    try:
        with zipfile.ZipFile(aside, "w", zipfile.ZIP_DEFLATED) as box:
            yield box
            box.comment = b"0" * SEAL
        with open(aside, "r+b") as written:
            mark = _mark(Path(aside))
            written.seek(-SEAL, os.SEEK_END)
            written.write(mark.encode())
            written.flush()
            os.fsync(written.fileno())
        os.replace(aside, file)
    except BaseException:
        Path(aside).unlink(missing_ok=True)
        raise


def check_seal(file: Path, *, of: str) -> None:
    """The file is whole; `of` says what it should have been: 'backup of a shop'.

    Errors: `backup.damaged`, `backup.missing`.
    """
    try:
        with file.open("rb") as read:
            read.seek(max(0, file.stat().st_size - SEAL))
            said = read.read().decode("ascii", "replace")
    except OSError as error:
        raise Refused(
            "backup.missing", f"{file} cannot be read: {error.strerror}."
        ) from error
    if said != _mark(file):
        raise Refused(
            "backup.damaged",
            f"{file.name} is damaged or no {of}: nothing of it was taken. "
            "Take another one.",
        )


def _mark(file: Path) -> str:
    """The SHA-256 of all but the seal."""
    left, found = file.stat().st_size - SEAL, hashlib.sha256()
    with file.open("rb") as read:
        while left > 0:
            piece = read.read(min(PIECE, left))
            if not piece:
                break
            found.update(piece)
            left -= len(piece)
    return found.hexdigest()
