"""The codes in pictures: `decode PATH... [--json] [--receiving]`."""

import json
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from glob import glob, has_magic
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser

from inventory.errors import Refused
from inventory.management.plain import PlainCommand
from inventory.photos.opening import (
    MOST_CHILDREN,
    FoundCode,
    decode_photo,
    end_children,
)

SUFFIXES = frozenset({".jpg", ".jpeg", ".png", ".webp"})


class Command(PlainCommand):
    """One line a picture: what was accepted, and in how many milliseconds.

    Needs no shop. A folder stands for its pictures in order of their names. The exit
    status is 1 when no file at all could be opened as a picture.
    """

    help = "Read the codes in pictures of labels."

    def add_arguments(self, parser: CommandParser) -> None:
        """Files and folders; words or JSON."""
        parser.add_argument(
            "path", nargs="+", help="a picture, a folder of pictures, or a pattern"
        )
        parser.add_argument("--json", action="store_true", help="one JSON line each")
        parser.add_argument(
            "--receiving", action="store_true", help="suppliers' symbols too"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Read them, several at once, and print them in order."""
        paths = [path for given in options["path"] for path in _pictures(given)]
        read = partial(_read, receiving=options["receiving"])
        opened = 0
        try:
            with ThreadPoolExecutor(MOST_CHILDREN) as pool:
                for line in pool.map(read, paths):
                    opened += "error" not in line
                    said = json.dumps(line) if options["json"] else _in_words(line)
                    self.stdout.write(said)
        finally:
            end_children()
        if not opened:
            raise CommandError("No picture could be opened.", returncode=1)


def _pictures(given: str) -> Iterator[Path]:
    """A folder's pictures; what a pattern meets; else the file itself."""
    path = Path(given)
    if path.is_dir():
        inside = (each for each in path.iterdir() if each.suffix.lower() in SUFFIXES)
        yield from sorted(inside)
    elif has_magic(given) and not path.exists():
        yield from map(Path, sorted(glob(given)))
    else:
        yield path


def _read(path: Path, *, receiving: bool) -> dict[str, Any]:
    line: dict[str, Any] = {"file": str(path), "payloads": [], "codes": []}
    began = time.perf_counter()
    try:
        found = decode_photo(_bytes(path), receiving=receiving)
    except Refused as error:
        found = ()
        if error.code != "photo.nothing":
            line["error"] = {"code": error.code, "sentence": error.sentence}
    line["payloads"] = [each.text for each in found]
    line["codes"] = [_as_data(each) for each in found]
    line["ms"] = round((time.perf_counter() - began) * 1000, 1)
    return line


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise Refused(
            "photo.missing", f"{path} cannot be read: {error.strerror}."
        ) from error


def _as_data(found: FoundCode) -> dict[str, str]:
    said = {
        "text": found.text,
        "kind": found.kind,
        "code": found.code,
        "symbology": found.symbology,
        "identifier": found.identifier,
    }
    return {name: value for name, value in said.items() if value}


def _in_words(line: dict[str, Any]) -> str:
    said = ", ".join(
        f"{each['text']} ({each['kind']})" for each in line["codes"]
    ) or line.get("error", {}).get("sentence", "nothing")
    return f"{line['file']}: {said} [{line['ms']} ms]"
