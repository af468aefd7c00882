"""QR codes out of blur and tilt: the finders sought, the grid fitted, redrawn.

What is redrawn is read by the same decoder as any other picture, whose error
correction refuses a grid that was fitted wrongly.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import combinations

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.photos.pictures import Grey

# Modules a side of versions 1 to 4 (ISO/IEC 18004): 17 + 4 times the version.
SIDES = (21, 25, 29, 33)
# A finder with its light border, 9 modules a side, 1 light.
FINDER = np.pad(
    np.pad(np.pad(np.zeros((3, 3), np.float32), 1, constant_values=1), 1), 1,
    constant_values=1,
)  # fmt: skip
# Pixels a module at which finders are sought in the enlarged crop.
SIZES = tuple(1.5 * 1.18**step for step in range(11))
LEAST_LIKE, MOST_PEAKS = 0.5, 7
LEAST_FIT = 0.5
SMOOTH = 0.8
# A module shines into its neighbours: so much of that is taken out again.
CLEARER = (0.35, 0.6, 1.0)
STEPS = (0.8, 0.4, 0.2, 0.1)  # in modules

Floats = NDArray[np.float32]
Point = tuple[float, float]


@dataclass(frozen=True)
class Finders:
    """Three finders that may be of one code: likeness, and where, clockwise."""

    like: float
    module: float
    corner: Point
    right: Point
    below: Point

    @property
    def side(self) -> float:
        """How many modules a side they stand for."""
        apart = math.dist(self.corner, self.right) + math.dist(self.corner, self.below)
        return apart / 2 / self.module + 7

    def outline(self, side: int) -> Floats:
        """The four corners of a code of this side, by parallels."""
        corner, right, below = (
            np.array(each) for each in (self.corner, self.right, self.below)
        )
        x, y = (right - corner) / (side - 7), (below - corner) / (side - 7)
        first = corner - 3.5 * (x + y)
        corners = (first, first + side * x, first + side * (x + y), first + side * y)
        return np.array(corners, np.float32)


def redrawn(crop: Grey, most: int = 2) -> Iterator[Grey]:
    """Clean pictures of the codes that may be in a crop, the likeliest first."""
    smooth = cv2.GaussianBlur(crop, (0, 0), SMOOTH).astype(np.float32)
    for finders in sorted(_triples(smooth), key=lambda each: -each.like)[:most]:
        fitted = _fitted(smooth, finders)
        if fitted is not None:
            cells = _sampled(smooth, *fitted)
            yield from (_drawn(cells, amount) for amount in CLEARER)


def _triples(crop: Floats) -> Iterator[Finders]:
    for module in SIZES:
        for three in combinations(_peaks(crop, module), 3):
            for at in range(3):
                corner, others = three[at], three[:at] + three[at + 1 :]
                yield from _right_angle(corner, others, module)


def _right_angle(
    corner: tuple[float, ...], others: tuple[tuple[float, ...], ...], module: float
) -> Iterator[Finders]:
    """The three as a code's finders, if they stand like ones."""
    a, b = ((each[0] - corner[0], each[1] - corner[1]) for each in others)
    long, wide = math.hypot(*a), math.hypot(*b)
    if min(long, wide) < 10 * module or not 0.7 < long / wide < 1.43:
        return
    if abs(a[0] * b[0] + a[1] * b[1]) > 0.3 * long * wide:
        return
    if not 12 < (long + wide) / 2 / module < 31:
        return
    right, below = others if a[0] * b[1] > a[1] * b[0] else others[::-1]
    like = corner[2] + right[2] + below[2]
    places = ((each[0], each[1]) for each in (corner, right, below))
    yield Finders(like, module, *places)


def _peaks(crop: Floats, module: float) -> list[tuple[float, ...]]:
    """Where the crop looks most like a finder of this size: x, y, likeness."""
    finder = _finder(module)
    if min(crop.shape) <= len(finder) + 4:
        return []
    like = cv2.matchTemplate(crop, finder, cv2.TM_CCOEFF_NORMED)
    around = 2 * int(2 * module) + 1
    best = cv2.dilate(like, np.ones((around, around), np.uint8))
    rows, columns = np.nonzero((like == best) & (like > LEAST_LIKE))
    order = np.argsort(-like[rows, columns])[:MOST_PEAKS]
    half = len(finder) / 2
    return [
        (float(x + half), float(y + half), float(like[y, x]))
        for y, x in zip(rows[order], columns[order], strict=True)
    ]


@cache
def _finder(module: float) -> Floats:
    large = cv2.resize(FINDER, (144, 144), interpolation=cv2.INTER_NEAREST)
    side = round(9 * module)
    small = cv2.resize(large, (side, side), interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.GaussianBlur(small, (0, 0), 0.35 * module), np.float32)


@cache
def _fixed(side: int) -> Floats:
    """What every code of a side has in common: 1 light, -1 dark, 0 not fixed."""
    fixed = np.zeros((side, side), np.float32)
    finder = FINDER * 2 - 1
    fixed[:8, :8] = finder[1:, 1:]
    fixed[:8, -8:] = finder[1:, :-1]
    fixed[-8:, :8] = finder[:-1, 1:]
    timing = np.where(np.arange(8, side - 8) % 2, 1, -1)
    fixed[6, 8:-8] = fixed[8:-8, 6] = timing
    if side > SIDES[0]:
        at = side - 7
        fixed[at - 2 : at + 3, at - 2 : at + 3] = -1
        fixed[at - 1 : at + 2, at - 1 : at + 2] = 1
        fixed[at, at] = -1
    return fixed


def _fitted(crop: Floats, finders: Finders) -> tuple[Floats, int] | None:
    """The outline whose fixed modules fit best, and the code's side."""
    sides = [side for side in SIDES if abs(side - finders.side) <= 5.1]
    if not sides:
        return None
    side = max(sides, key=lambda each: _fit(crop, finders.outline(each), each))
    outline = finders.outline(side)
    fit = _fit(crop, outline, side)
    for step in STEPS:
        fit, outline = _climbed(crop, outline, side, step * finders.module)
    return (outline, side) if fit >= LEAST_FIT else None


def _climbed(
    crop: Floats, outline: Floats, side: int, step: float
) -> tuple[float, Floats]:
    """Corners moved by a step as long as that fits better, three rounds at most."""
    best = _fit(crop, outline, side)
    moves = ((step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step))
    for _ in range(3):
        before = best
        for corner in range(4):
            for move in moves:
                other = outline.copy()
                other[corner] += move
                fit = _fit(crop, other, side)
                if fit > best:
                    best, outline = fit, other
        if best == before:
            break
    return best, outline


def _fit(crop: Floats, outline: Floats, side: int) -> float:
    """How well the fixed modules agree: their correlation."""
    fixed = _fixed(side)
    seen, wanted = _sampled(crop, outline, side)[fixed != 0], fixed[fixed != 0]
    seen, wanted = seen - seen.mean(), wanted - wanted.mean()
    both = float((seen**2).sum() * (wanted**2).sum())
    return float((seen * wanted).sum()) / math.sqrt(both + 1e-9)


def _sampled(crop: Floats, outline: Floats, side: int) -> Floats:
    """The grey of every module's middle."""
    square = np.array([[0, 0], [side, 0], [side, side], [0, side]], np.float32)
    lens = cv2.getPerspectiveTransform(square, outline)
    places = cv2.perspectiveTransform(_middles(side), lens).reshape(side, side, 2)
    x, y = places[..., 0].astype(np.float32), places[..., 1].astype(np.float32)
    cells = cv2.remap(crop, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(cells, np.float32)


@cache
def _middles(side: int) -> Floats:
    at = np.arange(side, dtype=np.float32) + 0.5
    return np.stack(np.meshgrid(at, at), axis=-1).reshape(1, -1, 2)


def _drawn(cells: Floats, clearer: float, size: int = 4) -> Grey:
    cross = np.array([[0, 1, 0], [1, 0, 1], [0, 1, 0]], np.float32)
    around = cv2.filter2D(cells, -1, cross, borderType=cv2.BORDER_REPLICATE)
    clear = cells + clearer * (4 * cells - around)
    light = np.where(clear > cv2.blur(clear, (11, 11)), 255, 0).astype(np.uint8)
    page = np.pad(light, 4, constant_values=255)
    return np.kron(page, np.ones((size, size), np.uint8))
