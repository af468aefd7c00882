"""Photos of labels: opened in child processes, which may die without harm.

A child is kept for the next picture, so that a live camera's frames are read at once; it
is replaced when it dies, dawdles, or has opened its share.
"""

import atexit
import base64
import json
import os
import select
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from ctypes.util import find_library
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inventory.errors import Refused

MOST_BYTES = 12 * 1024 * 1024
WALL_SECONDS, START_SECONDS = 8.0, 12.0
CHILD = ("-E", "-s", "-m", "inventory.scanning.reader.child")
ROOT = Path(__file__).resolve().parent.parent.parent
# How many children may work at once, and how many pictures one opens in its life.
MOST_CHILDREN, MOST_PICTURES = 2, 200
SENTENCES = {
    "empty": "The photo is empty: take it again.",
    "not_a_picture": "That is no picture this shop can open: send a JPEG, PNG or WEBP "
    "photo of the label.",
    "broken": "The photo arrived damaged or cut short: send it again.",
    "too_many_pixels": "The picture has more than 50 million pixels: take a smaller one.",
    "too_large": "The photo is larger than 12 MB: take a smaller one.",
    "nothing": "No code was found: hold the label flat, fill the frame with it, and let "
    "light fall on it from the side; or type the code under the bars.",
    "died": "The photo could not be read: take another, or type the code under the bars.",
}


@dataclass(frozen=True)
class Found:
    """One code in a photo. Kinds: 'own', 'foreign', 'foreign, checked', 'supplier'.

    `text` is what the symbol says; `code` the own code it is, or that its address ends
    in. A supplier's symbol has its ISO/IEC 15424 identifier.
    """

    text: str
    kind: str
    code: str = ""
    identifier: str = ""
    symbology: str = ""


class Child:
    """One process that opens pictures, one at a time."""

    def __init__(self) -> None:
        kept = ("PATH", "LD_LIBRARY_PATH", "SYSTEMROOT")
        self.pictures = 0
        self.process = subprocess.Popen(
            [sys.executable, *CHILD],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            cwd=ROOT,
            env={name: os.environ[name] for name in kept if name in os.environ},
        )

    def ask(self, wanted: bytes, data: bytes) -> dict[str, Any]:
        """The child's answer. Raises OSError or ValueError when it dies or dawdles."""
        patience = WALL_SECONDS if self.pictures else WALL_SECONDS + START_SECONDS
        self.pictures += 1
        assert self.process.stdin is not None
        self.process.stdin.write(wanted + len(data).to_bytes(4, "big") + data)
        self.process.stdin.flush()
        line = self._line(time.monotonic() + patience)
        answer = json.loads(line)
        if not isinstance(answer, dict):
            raise ValueError("no answer")
        return answer

    def _line(self, until: float) -> bytes:
        assert self.process.stdout is not None
        pipe, line = self.process.stdout.fileno(), b""
        while not line.endswith(b"\n"):
            left = until - time.monotonic()
            if left <= 0 or not select.select([pipe], [], [], left)[0]:
                raise TimeoutError
            part = os.read(pipe, 65536)
            if not part:
                raise EOFError
            line += part
        return line

    @property
    def is_spent(self) -> bool:
        """Whether it opened its share, or is dead."""
        return self.pictures >= MOST_PICTURES or self.process.poll() is not None

    def end(self) -> None:
        """Kill it and close its pipes."""
        self.process.kill()
        self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout):
            if pipe is not None:
                with _closing():
                    pipe.close()


@contextmanager
def _closing() -> Iterator[None]:
    """A pipe to a dead process may still hold bytes that go nowhere."""
    try:
        yield
    except OSError:
        return


_turns = threading.BoundedSemaphore(MOST_CHILDREN)
_idle: list[Child] = []


def decode_photo(data: bytes, *, receiving: bool = False) -> tuple[Found, ...]:
    """The codes in a photo, own ones first; when receiving, suppliers' too.

    Errors: `photo.empty`, `photo.too_large`, `photo.not_a_picture`, `photo.broken`,
    `photo.too_many_pixels`, `photo.nothing`, `photo.died`.
    """
    answer = _asked(b"r" if receiving else b"b", data)
    found = tuple(Found(**row) for row in answer["found"])
    if not found:
        raise _refused("nothing")
    return found


def evidence_photo(data: bytes) -> bytes:
    """The photo made anew as an upright JPEG, without its maker's notes. Errors: as above."""
    return base64.b64decode(_asked(b"e", data)["picture"])


def end_children() -> None:
    """End the children that wait for a picture."""
    while _idle:
        _idle.pop().end()


atexit.register(end_children)


def readers_state() -> str:
    """What reads photos here, and what would make it better."""
    if find_library("zbar"):
        return "Photos are read by both readers."
    return (
        "Photos are read by one reader. For the second install libzbar0: "
        "apt-get install libzbar0."
    )


def _refused(code: str) -> Refused:
    return Refused(f"photo.{code}", SENTENCES[code])


def _asked(wanted: bytes, data: bytes) -> dict[str, Any]:
    """A child's answer. One that dies or dawdles is ended, and is a refusal."""
    if not data:
        raise _refused("empty")
    if len(data) > MOST_BYTES:
        raise _refused("too_large")
    with _turns:
        child = _idle.pop() if _idle else Child()
        try:
            answer = child.ask(wanted, data)
        except (OSError, ValueError, EOFError) as error:
            child.end()
            raise _refused("died") from error
        if child.is_spent:
            child.end()
        else:
            _idle.append(child)
    if "refused" in answer:
        raise _refused(answer["refused"])
    return answer
