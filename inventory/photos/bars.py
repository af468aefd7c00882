"""Bars out of blur and noise: made parallel, averaged along their length, redrawn."""

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.photos.pictures import Grey

# Leans tried, columns a row, at a third and two thirds of the width: what tilt does.
LEANS = np.linspace(-0.16, 0.16, 17)
STEEPEST = 0.25
# Shares of the height that are averaged, and how strongly each is sharpened.
BANDS = ((0.25, 0.75), (0.1, 0.5), (0.5, 0.9), (0.3, 0.5), (0.5, 0.7))
SHARPER = (1.0, 2.5, 6.0)
FINER, SOFT, ROW = 2, 8.0, 24

Floats = NDArray[np.float32]


def redrawn(crop: Grey) -> Grey:
    """A picture of bars that a row reader can take: each band, each sharpness."""
    upright = _upright(crop.astype(np.float32))
    rows = [row for band in BANDS for row in _rows(upright, band)]
    return np.repeat(np.vstack(rows), ROW, axis=0).astype(np.uint8)


def _rows(upright: Floats, band: tuple[float, float]) -> list[Floats]:
    high, wide = upright.shape
    first, last = int(high * band[0]), int(high * band[1])
    mean = upright[first : max(last, first + 1)].mean(axis=0)[None]
    fine = cv2.resize(mean, (wide * FINER, 1), interpolation=cv2.INTER_CUBIC)
    detail = fine - cv2.GaussianBlur(fine, (0, 0), SOFT)
    return [_stretched(np.asarray(fine + a * detail)) for a in SHARPER]


def _stretched(row: Floats) -> Floats:
    low, high = np.percentile(row, (1, 99))
    stretched = (row - low) / (high - low + 1e-6) * 220 + 18
    return np.asarray(np.clip(stretched, 0, 255), np.float32)


def _upright(crop: Floats) -> Floats:
    """Every bar vertical: the lean is taken to change evenly from left to right."""
    high, wide = crop.shape
    left = _lean(crop[:, : wide * 6 // 10])
    right = _lean(crop[:, wide * 4 // 10 :])
    x, y = np.meshgrid(
        np.arange(wide, dtype=np.float32), np.arange(high, dtype=np.float32)
    )
    lean = np.clip(left + (x / wide - 0.3) / 0.4 * (right - left), -STEEPEST, STEEPEST)
    x = (x + lean * (y - high / 2)).astype(np.float32)
    upright = cv2.remap(crop, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(upright, np.float32)


def _lean(part: Floats) -> float:
    """The lean at which the column means differ most."""
    return float(max(LEANS, key=lambda lean: _contrast(part, lean)))


def _contrast(part: Floats, lean: float) -> float:
    high, wide = part.shape
    shear = np.array([[1, lean, -lean * high / 2], [0, 1, 0]], np.float32)
    upright = cv2.warpAffine(
        part,
        shear,
        (wide, high),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    means = upright[high // 4 : max(high * 3 // 4, high // 4 + 1)].mean(axis=0)
    return float((np.diff(means) ** 2).sum())
