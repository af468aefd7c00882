"""One sealed file: a zip whose last 64 bytes are the SHA-256 of all before them.

The zip format ends in a comment, which holds the seal: any program opens the file, and a
single changed bit anywhere in it is seen. It holds the shop's database (SQLite, whichever
engine the shop is on) and a manifest; photographs lie beside it under their own hashes.
"""

import hashlib
import json
import os
import tempfile
import zipfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from inventory.errors import Refused

DATABASE, MANIFEST = "gripcount.sqlite3", "manifest.json"
SEAL, PIECE = 64, 1 << 20


@dataclass(frozen=True)
class Manifest:
    """What a backup says of itself; `photographs` are names below the shop's folder."""

    made_at: str
    database: str
    migrations: Sequence[str]
    photographs: Sequence[str]


def seal(file: Path, database: Path, manifest: Manifest) -> None:
    """Write the file whole: it has its name only once it is on the disk."""
    handle, aside = tempfile.mkstemp(dir=file.parent, prefix=".making-")
    os.close(handle)
    try:
        with zipfile.ZipFile(aside, "w", zipfile.ZIP_DEFLATED) as box:
            box.write(database, DATABASE)
            box.writestr(MANIFEST, json.dumps(asdict(manifest), indent=1))
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


def opened(file: Path, into: Path) -> Manifest:
    """Check the seal and unpack the database into a folder; what the file says.

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
            f"{file.name} is damaged or no backup of a shop: nothing of it was taken. "
            "Take another one.",
        )
    with zipfile.ZipFile(file) as box:
        box.extract(DATABASE, into)
        manifest = Manifest(**json.loads(box.read(MANIFEST)))
    with (into / DATABASE).open("rb") as read:
        found = hashlib.file_digest(read, "sha256").hexdigest()
    if found != manifest.database:
        raise Refused("backup.damaged", f"The database in {file.name} is damaged.")
    return manifest
