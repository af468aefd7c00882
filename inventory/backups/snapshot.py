"""A backup's file: the shop's database as SQLite, whichever engine the shop is on.

A manifest says what it is of; photographs lie beside the file under their own hashes.
"""

import hashlib
import json
import zipfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from inventory.backups.sealed import MANIFEST, check_seal, sealing
from inventory.errors import Refused

DATABASE = "gripcount.sqlite3"


@dataclass(frozen=True)
class Manifest:
    """What a backup says of itself; `photographs` are names below the shop's folder."""

    made_at: str
    database: str
    migrations: Sequence[str]
    photographs: Sequence[str]


def seal(file: Path, database: Path, manifest: Manifest) -> None:
    """Write the file whole."""
    with sealing(file) as box:
        box.write(database, DATABASE)
        box.writestr(MANIFEST, json.dumps(asdict(manifest), indent=1))


def opened(file: Path, into: Path) -> Manifest:
    """Check the seal and unpack the database into a folder; what the file says.

    Errors: `backup.damaged`, `backup.missing`.
    """
    check_seal(file, of="backup of a shop")
    with zipfile.ZipFile(file) as box:
        if DATABASE not in box.namelist():
            raise Refused(
                "backup.damaged",
                f"{file.name} is an archive, no backup: manage.py take_in takes it in.",
            )
        box.extract(DATABASE, into)
        manifest = Manifest(**json.loads(box.read(MANIFEST)))
    with (into / DATABASE).open("rb") as read:
        found = hashlib.file_digest(read, "sha256").hexdigest()
    if found != manifest.database:
        raise Refused("backup.damaged", f"The database in {file.name} is damaged.")
    return manifest
