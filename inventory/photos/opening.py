"""Photos of labels: opened in child processes, which may die without harm.

A child is kept for the next picture, so that a live camera's frames are read at once; it
is replaced when it dies, dawdles, or has opened its share.
"""

import atexit
import base64
import json
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from ctypes.util import find_library
from dataclasses import dataclass
from typing import Any

from inventory import children
from inventory.errors import Refused

MOST_BYTES = 12 * 1024 * 1024
WALL_SECONDS, START_SECONDS = 8.0, 12.0
CHILD = children.module("inventory.photos.child")
# How many children may work at once, and how many pictures one opens in its life.
MOST_CHILDREN, MOST_PICTURES = 2, 200
# One that no picture came for is ended after so long.
REST_SECONDS = 120.0
ANSWERS = frozenset({"found", "picture", "refused"})
SENTENCES = {
    "empty": "The photo is empty: take it again.",
    "not_a_picture": "That is no picture this shop can open: send a JPEG, PNG or WEBP "
    "photo of the label.",
    "broken": "The photo arrived damaged or cut short: send it again.",
    "too_many_pixels": "The picture is too large to open: take one of 24 million pixels "
    "or fewer.",
    "busy": "Other photos are being read: send this one again in a moment.",
    "too_large": "The photo is larger than 12 MB: take a smaller one.",
    "nothing": "No code was found: hold the label flat, fill the frame with it, and let "
    "light fall on it from the side; or type the code under the bars.",
    "died": "The photo could not be read: take another, or type the code under the bars.",
}


@dataclass(frozen=True)
class FoundCode:
    """One code in a photo.

    Kinds: 'own', 'address', 'foreign', 'foreign, checked', 'supplier'.
    `text` is what the symbol says; `code` the own code it is, or that its address ends
    in. A supplier's symbol has its ISO/IEC 15424 identifier.
    """

    text: str
    kind: str
    code: str = ""
    identifier: str = ""
    symbology: str = ""


class Opener:
    """One process that opens pictures, one at a time."""

    def __init__(self) -> None:
        self.pictures = 0
        self.rest: threading.Timer | None = None
        self.process = children.start(CHILD, talks=True)

    def ask(self, wanted: bytes, data: bytes) -> dict[str, Any]:
        """The child's answer. Raises OSError or ValueError when it dies or dawdles."""
        patience = WALL_SECONDS if self.pictures else WALL_SECONDS + START_SECONDS
        self.pictures += 1
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        # Killed, it neither keeps a pipe full nor a line unfinished.
        clock = threading.Timer(patience, self.process.kill)
        clock.start()
        try:
            self.process.stdin.write(wanted + len(data).to_bytes(4, "big") + data)
            self.process.stdin.flush()
            answer = json.loads(self.process.stdout.readline())
        finally:
            clock.cancel()
        if not isinstance(answer, dict) or not answer.keys() & ANSWERS:
            raise ValueError("no answer")
        return answer

    @property
    def is_spent(self) -> bool:
        """Whether it opened its share, or is dead."""
        return self.pictures >= MOST_PICTURES or self.process.poll() is not None

    def end(self) -> None:
        """Kill it and close its pipes."""
        self.wake()
        children.end(self.process)

    def wake(self) -> None:
        """It rests no longer."""
        if self.rest is not None:
            self.rest.cancel()


_turns = threading.BoundedSemaphore(MOST_CHILDREN)
_lock = threading.Lock()
_idle: list[Opener] = []


@contextmanager
def _lent() -> Iterator[Opener]:
    """A child for one picture, kept for the next if that went well.

    Nobody waits for a turn: whoever waits holds a thread that a bench may need.
    """
    if not _turns.acquire(blocking=False):
        raise _refused("busy")
    try:
        child = _fit_or_new()
        try:
            yield child
        except BaseException:
            child.end()
            raise
        if child.is_spent:
            child.end()
        else:
            _rest(child)
    finally:
        _turns.release()


def _rest(child: Opener) -> None:
    """Keep it for the next picture, but not for ever: it holds memory."""
    child.rest = threading.Timer(REST_SECONDS, _end_rested, (child, child.pictures))
    child.rest.daemon = True
    with _lock:
        _idle.append(child)
        child.rest.start()


def _end_rested(child: Opener, pictures: int) -> None:
    """End one that has opened no picture since."""
    with _lock:
        if child not in _idle or child.pictures != pictures:
            return
        _idle.remove(child)
    child.end()


def _fit_or_new() -> Opener:
    """One that died while it waited is no picture's fault, and is passed over."""
    with _lock:
        while _idle:
            child = _idle.pop()
            child.wake()
            if not child.is_spent:
                return child
            child.end()
    return Opener()


def _forget() -> None:
    """After a fork the children are the other process's; so may the lock be."""
    global _turns, _lock, _idle
    _turns = threading.BoundedSemaphore(MOST_CHILDREN)
    _lock, _idle = threading.Lock(), []


def decode_photo(data: bytes, *, receiving: bool = False) -> tuple[FoundCode, ...]:
    """The codes in a photo, own ones first; when receiving, suppliers' too.

    Errors: `photo.busy`, `photo.empty`, `photo.too_large`, `photo.not_a_picture`, `photo.broken`,
    `photo.too_many_pixels`, `photo.nothing`, `photo.died`.
    """
    answer = _asked(b"r" if receiving else b"b", data)
    found = tuple(FoundCode(**row) for row in answer["found"])
    if not found:
        raise _refused("nothing")
    return found


def evidence_photo(data: bytes) -> bytes:
    """The photo made anew as an upright JPEG, without its maker's notes. Errors: as above."""
    return base64.b64decode(_asked(b"e", data)["picture"])


def end_children() -> None:
    """End the children that wait for a picture."""
    with _lock:
        while _idle:
            _idle.pop().end()


atexit.register(end_children)
os.register_at_fork(after_in_child=_forget)


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
    try:
        with _lent() as child:
            answer = child.ask(wanted, data)
    except (OSError, ValueError) as error:
        raise _refused("died") from error
    if "refused" in answer:
        raise _refused(answer["refused"])
    return answer
