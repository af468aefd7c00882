"""Photos of labels: decoded in a child process, which may die without harm."""

import json
import os
import subprocess
import sys
from ctypes.util import find_library
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inventory.errors import Refused

MOST_BYTES = 12 * 1024 * 1024
WALL_SECONDS = 8.0
CHILD = ("-E", "-s", "-m", "inventory.scanning.child")
ROOT = Path(__file__).resolve().parent.parent.parent
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
    """One code in a photo. Kinds: 'own', 'foreign', 'foreign, checked'.

    An own code's text is the code, also where it was read from an address.
    """

    text: str
    kind: str


def decode_photo(data: bytes) -> tuple[Found, ...]:
    """The codes in a photo, own ones first.

    Errors: `photo.empty`, `photo.too_large`, `photo.not_a_picture`, `photo.broken`,
    `photo.too_many_pixels`, `photo.nothing`, `photo.died`.
    """
    if not data:
        raise _refused("empty")
    if len(data) > MOST_BYTES:
        raise _refused("too_large")
    answer = _asked(data)
    if "refused" in answer:
        raise _refused(answer["refused"])
    found = tuple(Found(row["text"], row["kind"]) for row in answer["found"])
    if not found:
        raise _refused("nothing")
    return found


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


def _asked(data: bytes) -> dict[str, Any]:
    """The child's answer. A child that dies or dawdles is a refusal."""
    kept = ("PATH", "LD_LIBRARY_PATH", "SYSTEMROOT")
    try:
        done = subprocess.run(
            [sys.executable, *CHILD],
            input=data,
            capture_output=True,
            timeout=WALL_SECONDS,
            cwd=ROOT,
            env={name: os.environ[name] for name in kept if name in os.environ},
            check=True,
        )
        answer: dict[str, Any] = json.loads(done.stdout)
    except (subprocess.SubprocessError, ValueError) as error:
        raise _refused("died") from error
    return answer
