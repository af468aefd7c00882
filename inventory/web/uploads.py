"""What people send: a list between its preview and 'apply', pictures for good."""

import hashlib
import re
import time
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.base import File

from inventory.errors import Refused
from inventory.sheets.reading import MAX_BYTES

KEPT_SECONDS = 24 * 3600


def shop_folder() -> Path:
    """The shop's own folder, where photographs are kept for good."""
    return Path(settings.DATA)


def folder() -> Path:
    """Where uploads wait."""
    return shop_folder() / "uploads"


def store(file: "File[Any]") -> tuple[str, bytes]:
    """Keep an upload for a day. Errors: `sheet.size`."""
    if (file.size or 0) > MAX_BYTES:
        raise Refused("sheet.size", f"{file.name} is larger than 10 MB: split it.")
    data = file.read()
    digest = hashlib.sha256(data).hexdigest()
    folder().mkdir(parents=True, exist_ok=True)
    _forget_old()
    (folder() / digest).write_bytes(data)
    return digest, data


def fetch(digest: str) -> bytes:
    """An upload by its name. Errors: `web.no_upload`."""
    path = folder() / digest
    if not re.fullmatch(r"[0-9a-f]{64}", digest) or not path.is_file():
        raise Refused(
            "web.no_upload",
            "That file is no longer here: choose it again. Nothing moved.",
        )
    return path.read_bytes()


def forget(digest: str) -> None:
    """An applied upload is not needed again."""
    if re.fullmatch(r"[0-9a-f]{64}", digest):
        (folder() / digest).unlink(missing_ok=True)


def _forget_old() -> None:
    for path in folder().iterdir():
        if time.time() - path.stat().st_mtime > KEPT_SECONDS:
            path.unlink(missing_ok=True)
