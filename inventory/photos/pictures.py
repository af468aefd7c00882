"""Opening a picture: format and size first, then grey, then as small as will do."""

import io

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps, UnidentifiedImageError

MOST_PIXELS = 24_000_000
FORMATS = ("JPEG", "PNG", "WEBP")

# A photograph that is kept as evidence: longest side in pixels, JPEG quality.
EVIDENCE_SIDE, EVIDENCE_QUALITY = 2000, 85

Grey = NDArray[np.uint8]


class Unusable(Exception):
    """The picture cannot be used; the text is the answer's code."""


def opened(data: bytes) -> Image.Image:
    """The picture, its header read and its size accepted; no pixel decoded yet.

    Raises Unusable not_a_picture or too_many_pixels.
    """
    Image.MAX_IMAGE_PIXELS = None  # our own, lower limit follows at once
    try:
        picture = Image.open(io.BytesIO(data), formats=FORMATS)
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError) as error:
        raise Unusable("not_a_picture") from error
    if picture.width * picture.height > MOST_PIXELS:
        raise Unusable("too_many_pixels")
    return picture


def grey(data: bytes, part: int) -> Grey:
    """The picture upright in grey, rows by columns, at one part-th of its size.

    A JPEG is decoded to grey, and to the reduced size, by its own decoder. Raises
    Unusable broken.
    """
    picture = opened(data)
    wanted = (max(1, picture.width // part), max(1, picture.height // part))
    try:
        picture.draft("L", wanted)
        plain = ImageOps.exif_transpose(picture.convert("L"))
    except (OSError, SyntaxError, ValueError) as error:
        raise Unusable("broken") from error
    shrink = round(max(plain.size) / max(wanted))
    return np.array(plain.reduce(shrink) if shrink > 1 else plain)


def evidence(data: bytes) -> bytes:
    """The picture made anew as a JPEG, upright, without what its maker wrote into it.

    Raises Unusable broken.
    """
    picture = opened(data)
    try:
        picture.draft("RGB", (EVIDENCE_SIDE, EVIDENCE_SIDE))
        plain = ImageOps.exif_transpose(picture).convert("RGB")
    except (OSError, SyntaxError, ValueError) as error:
        raise Unusable("broken") from error
    plain.thumbnail((EVIDENCE_SIDE, EVIDENCE_SIDE))
    out = io.BytesIO()
    plain.save(out, "JPEG", quality=EVIDENCE_QUALITY)
    return out.getvalue()
