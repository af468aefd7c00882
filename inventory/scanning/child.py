"""The process that opens a photo: `python -m inventory.scanning.child`.

A picture comes in on stdin, one line of JSON goes out. It runs apart because decoders
have died on pictures before; its limits are its own, and the parent answers for it.
"""

import io
import json
import resource
import sys
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from inventory.errors import Refused
from inventory.trade import codes

if TYPE_CHECKING:
    from PIL import Image

MOST_PIXELS = 50_000_000
FORMATS = ("JPEG", "PNG", "WEBP")
MEMORY, CPU_SECONDS, FILES = 1536 * 1024 * 1024, 10, 32
# Below this many pixels on the longer side a picture is not halved, and may be doubled.
SMALL = 1400
# One reader's wrong foreign texts all had quality 1; none of thousands had 2 (measured).
TRUSTED_QUALITY = 2
FOREIGN_LENGTH = 12

Reading = tuple[str, str, int]  # text, symbology, quality (0 where none is known)
Reader = Callable[["Image.Image"], list[Reading]]


class Unusable(Exception):
    """The picture cannot be used; the text is the answer's code."""


@dataclass
class Seen:
    """What the steps have found so far."""

    own: dict[str, None] = field(default_factory=dict)
    foreign: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    trusted: dict[str, None] = field(default_factory=dict)

    def note(self, step: str, readings: list[Reading]) -> None:
        """Sort a step's readings; an own code that fails its check is a misreading."""
        for text, symbology, quality in readings:
            own = own_code(text)
            if own:
                self.own[own] = None
            elif symbology == "CODE128" and not _looks_own(text):
                self.foreign[text].add(step)
                if quality >= TRUSTED_QUALITY or len(self.foreign[text]) > 1:
                    self.trusted[text] = None

    def answer(self) -> list[dict[str, str]]:
        """Own codes first, then foreign ones that two steps or good quality vouch for."""
        found = [{"text": text, "kind": "own"} for text in self.own]
        return found + [
            {"text": text, "kind": "foreign, checked" if _checked(text) else "foreign"}
            for text in self.trusted
        ]


def own_code(text: str) -> str:
    """The own code a text is, or that an address ends in; '' for anything else."""
    try:
        last = urlsplit(text).path.rsplit("/", 1)[-1] if "/" in text else text
        own = codes.read(last)
    except (Refused, ValueError):
        return ""
    return own.code if own.code == last.upper() else ""


def _looks_own(text: str) -> bool:
    try:
        codes.read(text)
    except Refused as error:
        return error.code == "code.check"
    return True


def _checked(text: str) -> bool:
    return len(text) == FOREIGN_LENGTH and codes.mod_37_36_valid(text)


def opened(data: bytes) -> "Image.Image":
    """The picture, its header read and its size accepted; no pixel decoded yet."""
    from PIL import Image, UnidentifiedImageError

    Image.MAX_IMAGE_PIXELS = None  # our own, lower limit follows at once
    try:
        picture = Image.open(io.BytesIO(data), formats=FORMATS)
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError) as error:
        raise Unusable("not_a_picture") from error
    if picture.width * picture.height > MOST_PIXELS:
        raise Unusable("too_many_pixels")
    return picture


def grey(data: bytes, part: int) -> "Image.Image":
    """The picture upright in grey, at one part-th of its size.

    A JPEG is decoded to grey, and to the reduced size, by its own decoder.
    """
    from PIL import ImageOps

    picture = opened(data)
    wanted = (max(1, picture.width // part), max(1, picture.height // part))
    try:
        picture.draft("L", wanted)
        plain = ImageOps.exif_transpose(picture.convert("L"))
    except (OSError, SyntaxError, ValueError) as error:
        raise Unusable("broken") from error
    shrink = round(max(plain.size) / max(wanted))
    return plain.reduce(shrink) if shrink > 1 else plain


def zbar_reader() -> Reader | None:
    """The reader that needs the system's library; None without it."""
    try:
        from pyzbar import pyzbar
    except ImportError:
        return None
    symbols = [pyzbar.ZBarSymbol.QRCODE, pyzbar.ZBarSymbol.CODE128]

    def read(picture: "Image.Image") -> list[Reading]:
        return [
            (row.data.decode("utf-8", "replace"), str(row.type), int(row.quality))
            for row in pyzbar.decode(picture, symbols=symbols)
        ]

    return read


def zxing_reader() -> Reader:
    """The reader that comes as a package; its texts as they are, never rewritten."""
    import zxingcpp

    names = {
        zxingcpp.BarcodeFormat.QRCode: "QRCODE",
        zxingcpp.BarcodeFormat.Code128: "CODE128",
    }
    formats = zxingcpp.BarcodeFormats(list(names))

    def read(picture: "Image.Image") -> list[Reading]:
        rows = zxingcpp.read_barcodes(
            picture, formats=formats, text_mode=zxingcpp.TextMode.Plain
        )
        return [(row.text, names.get(row.format, ""), 0) for row in rows]

    return read


def decode(data: bytes) -> list[dict[str, str]]:
    """Every step until an own code passes its check."""
    seen = Seen()
    zbar = zbar_reader()
    readers = ([("zbar", zbar)] if zbar else []) + [("zxing", zxing_reader())]
    for step, reader, picture in _steps(readers, data):
        seen.note(step, reader(picture))
        if seen.own:
            break
    return seen.answer()


def _steps(
    readers: list[tuple[str, Reader]], data: bytes
) -> Iterator[tuple[str, Reader, "Image.Image"]]:
    """Half size first, which is cheaper and often enough; then whole; then harder."""
    parts = [2, 1] if max(opened(data).size) >= SMALL else [1]
    kept: dict[int, Image.Image] = {}
    for name, reader in readers:
        for part in parts:
            if part not in kept:
                kept[part] = grey(data, part)
            yield f"{name} 1/{part}", reader, kept[part]
    for step, picture in _harder(kept[parts[0]]):
        for name, reader in reversed(readers):
            yield f"{name} {step}", reader, picture


def _harder(picture: "Image.Image") -> Iterator[tuple[str, "Image.Image"]]:
    """Turned by an eighth, for slanted bars; doubled, for a small picture."""
    yield "turned", picture.rotate(45, expand=True, fillcolor=128)
    if max(picture.size) < SMALL:
        yield "doubled", picture.resize((picture.width * 2, picture.height * 2))


def main() -> int:
    """Limits first, then the picture, then one line of JSON."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS))
    resource.setrlimit(resource.RLIMIT_NOFILE, (FILES, FILES))
    answer: dict[str, Any]
    try:
        answer = {"found": decode(sys.stdin.buffer.read())}
    except Unusable as reason:
        answer = {"refused": str(reason)}
    print(json.dumps(answer))
    return 0


if __name__ == "__main__":
    sys.exit(main())
