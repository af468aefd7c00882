"""An archive: all that was put into a shop, in a form that outlives this program.

A sealed zip: one file of JSON lines a table, the JSON Schema of each, the photographs
under their own hashes, and a manifest with the rows and the SHA-256 of every table.
"""

import hashlib
import io
import json
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from itertools import islice
from pathlib import Path

from django.core.exceptions import ValidationError
from django.db.models import Model

from inventory.backups.copying import PAGE, Content, Pages
from inventory.backups.lines import line, row_of, schema
from inventory.backups.sealed import MANIFEST, check_seal
from inventory.errors import Refused

FORM, README = "gripcount archive 1", "READ ME.txt"
ABOUT = """All that was put into a Gripcount shop, as text that any program can read.

tables/       one file a table; every line is one row, as JSON.
schema/       what the lines of each table hold, by JSON Schema (draft 2020-12).
photographs/  pictures of the work and of lots' papers, named by their SHA-256.
manifest.json when it was made, by which state of the tables, and of every table how many
              rows it has and the SHA-256 of its file.

An empty shop takes all of it in, on SQLite or PostgreSQL: manage.py take_in FILE

Passwords and the tokens of devices are in it as hashes only, but whoever holds this file
holds the whole record and the addresses of its people: keep it as you keep the shop's key.
"""


@dataclass(frozen=True)
class ArchiveManifest:
    """What an archive says of itself.

    `photographs` are names in it; `lost` are those whose files were not there any more.
    """

    form: str
    made_at: str
    migrations: Sequence[str]
    tables: Mapping[str, Content]
    photographs: Sequence[str]
    lost: Sequence[str]


def write_tables(box: zipfile.ZipFile, rows: Pages) -> dict[str, Content]:
    """A file of lines and a schema for each table; what was written, by table."""
    found: dict[str, Content] = {}
    for model, pages in rows.items():
        table, mark, count = model._meta.db_table, hashlib.sha256(), 0
        with box.open(_lines(table), "w") as out:
            for page in pages:
                said = "".join(f"{line(row)}\n" for row in page).encode()
                out.write(said)
                mark.update(said)
                count += len(page)
        found[table] = Content(count, mark.hexdigest())
        box.writestr(f"schema/{table}.json", json.dumps(schema(model), indent=1))
    return found


def write_pictures(box: zipfile.ZipFile, names: Iterable[str], folder: Path) -> None:
    """The photographs of the shop's folder, as they are: they do not get smaller."""
    for name in names:
        box.write(folder / name, name, zipfile.ZIP_STORED)


def write_manifest(box: zipfile.ZipFile, manifest: ArchiveManifest) -> None:
    """What the archive says of itself, and how it is read."""
    box.writestr(MANIFEST, json.dumps(asdict(manifest), indent=1))
    box.writestr(README, ABOUT)


def manifest_of(file: Path) -> ArchiveManifest:
    """Check the seal; what the archive says of itself.

    Errors: `backup.damaged`, `backup.missing`.
    """
    check_seal(file, of="archive of a shop")
    with zipfile.ZipFile(file) as box:
        said = json.loads(box.read(MANIFEST))
    if said.get("form") != FORM:
        raise Refused(
            "backup.damaged",
            f"{file.name} is a backup, no archive: manage.py restore puts it back.",
        )
    said["tables"] = {name: Content(**each) for name, each in said["tables"].items()}
    return ArchiveManifest(**said)


def read_tables(box: zipfile.ZipFile, tables: Iterable[type[Model]]) -> Pages:
    """The rows of these tables, read as they are asked for."""
    return {model: _pages(box, model) for model in tables}


def _pages(box: zipfile.ZipFile, model: type[Model]) -> Iterator[list[Model]]:
    """Errors: `backup.damaged`, naming the table."""
    table = model._meta.db_table
    try:
        with box.open(_lines(table)) as raw:
            text = io.TextIOWrapper(raw, encoding="utf-8", newline="\n")
            rows = (row_of(model, each) for each in text)
            while page := list(islice(rows, PAGE)):
                yield page
    except (KeyError, TypeError, ValueError, ValidationError) as error:
        raise Refused(
            "backup.damaged", f"The archive's table {table} cannot be read: {error}."
        ) from error


def _lines(table: str) -> str:
    return f"tables/{table}.jsonl"
