"""A seeded set of photos of labels, in five levels of difficulty.

Picture i depends only on (seed, i): its level is i mod 5 plus 1, its kind is drawn. The
pictures are made, so how readers compare holds; how many are read is only a guide.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.management.measures.photos_labels import Grey, Label, label

WIDTH, HEIGHT = 1280, 960
FOCAL = WIDTH / 2 / math.tan(math.radians(65) / 2)  # a phone's usual angle of view
KINDS = (("c128s", 0.35), ("c128l", 0.25), ("qr", 0.25), ("both", 0.15))

Bench = NDArray[np.uint8]
Range = tuple[float, float]
Dice = np.random.Generator


@dataclass(frozen=True)
class Level:
    """What a level's pictures are drawn from.

    Pixels a module; degrees of turn to either side and of tilt; blur (standard
    deviation) and motion in modules; noise in grey values of 255; contrast, fall of
    light and dirt as shares; JPEG quality.
    """

    module: Range
    turn: float
    tilt: Range
    blur: Range
    motion: Range
    noise: Range
    contrast: Range
    fall: Range
    dirt: Range
    quality: tuple[int, int]


LEVELS = (
    Level(
        (2.8, 4.0), 6, (0, 8), (0, 0.2), (0, 0.3), (0, 3), (0.8, 1), (0, 0.15), (0, 0), (80, 90)
    ),
    Level(
        (2.3, 3.5), 20, (0, 12), (0.05, 0.3), (0, 0.5), (1, 5), (0.7, 0.95), (0.05, 0.25), (0, 0.01), (70, 90)
    ),
    Level(
        (2.0, 3.2), 180, (2, 18), (0.1, 0.35), (0, 0.7), (2, 6), (0.6, 0.9), (0.1, 0.35), (0, 0.03), (60, 88)
    ),
    Level(
        (1.6, 2.6), 180, (5, 25), (0.15, 0.42), (0, 0.9), (3, 9), (0.5, 0.8), (0.2, 0.45), (0, 0.05), (50, 85)
    ),
    Level(
        (1.0, 2.0), 180, (10, 35), (0.2, 0.55), (0, 1.2), (5, 14), (0.3, 0.65), (0.3, 0.65), (0, 0.1), (30, 70)
    ),
)  # fmt: skip
# In this share of the pictures of level 2 the label is upside down.
UPSIDE_DOWN = 0.3


@dataclass(frozen=True)
class Photo:
    """One picture of the set: a JPEG, its level from 1, its kind, what it says."""

    jpeg: bytes
    level: int
    kind: str
    payloads: frozenset[str]


def photo(seed: int, at: int) -> Photo:
    """Picture `at` of the set of this seed."""
    dice = np.random.default_rng([seed, at])
    number = at % len(LEVELS)
    level = LEVELS[number]
    kind = str(
        dice.choice([name for name, _ in KINDS], p=[share for _, share in KINDS])
    )
    subject = label(kind, dice)
    module = dice.uniform(*level.module)
    picture = clutter(dice)
    dirty = _dirty(subject.picture, dice.uniform(*level.dirt), dice)
    where = _where(subject, module, number + 1, dice)
    picture = _pasted(picture, dirty, where, module * 3 / subject.module)
    jpeg = _taken(picture, level, module, dice)
    return Photo(jpeg, number + 1, kind, subject.payloads)


def bare(seed: int, at: int) -> bytes:
    """A JPEG of the same bench with no label on it."""
    dice = np.random.default_rng([seed, at])
    level = LEVELS[at % len(LEVELS)]
    return _taken(clutter(dice), level, dice.uniform(*level.module), dice)


def clutter(dice: Dice) -> Grey:
    """A bench: boxes, grilles, ribs, rivets, writing."""
    picture = np.full((HEIGHT, WIDTH), dice.integers(70, 170), np.uint8)
    draw: tuple[Callable[[Bench, Dice], None], ...] = (
        _box, _box, _grille, _ribs, _rivets, _writing
    )  # fmt: skip
    for _ in range(int(dice.integers(8, 18))):
        draw[dice.integers(len(draw))](picture, dice)
    return _blurred(np.asarray(picture / 255, np.float32), 0.7)


def _blurred(picture: Grey, spread: float) -> Grey:
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), spread), np.float32)


def _spot(dice: Dice) -> tuple[int, int]:
    return int(dice.integers(WIDTH)), int(dice.integers(HEIGHT))


def _box(picture: Bench, dice: Dice) -> None:
    x, y = _spot(dice)
    size = (dice.uniform(60, 400), dice.uniform(60, 400))
    corners = cv2.boxPoints(((x, y), size, dice.uniform(0, 180)))
    cv2.fillPoly(picture, [corners.astype(np.int32)], dice.uniform(40, 220))


def _grille(picture: Bench, dice: Dice) -> None:
    """Parallel slots, which look most like bars."""
    x, y = _spot(dice)
    angle, step = dice.uniform(0, math.pi), dice.uniform(5, 18)
    along = np.array([math.cos(angle), math.sin(angle)])
    across = np.array([-along[1], along[0]])
    half, dark = dice.uniform(20, 120), dice.uniform(20, 120)
    for at in range(int(dice.integers(6, 25))):
        middle = np.array([x, y]) + across * at * step
        ends = (middle - along * half, middle + along * half)
        _line(picture, ends, dark, max(1, int(step * 0.4)))


def _ribs(picture: Bench, dice: Dice) -> None:
    x, y = _spot(dice)
    for at in range(int(dice.integers(2, 6))):
        ends = (np.array([x, y + at * 40]), np.array([x + 500, y + at * 40 + 60]))
        _line(picture, ends, dice.uniform(60, 210), int(dice.integers(3, 14)))


def _line(
    picture: Bench, ends: tuple[NDArray[np.float64], ...], dark: float, thick: int
) -> None:
    first, last = ([int(part) for part in end] for end in ends)
    cv2.line(picture, first, last, dark, thick, cv2.LINE_AA)


def _rivets(picture: Bench, dice: Dice) -> None:
    x, y = _spot(dice)
    size, light = int(dice.integers(4, 14)), dice.uniform(120, 230)
    for at in range(int(dice.integers(4, 14))):
        middle = (x + at * size * 4, y)
        cv2.circle(picture, middle, size, light, -1, cv2.LINE_AA)
        cv2.circle(picture, middle, size, light * 0.5, 1, cv2.LINE_AA)


def _writing(picture: Bench, dice: Dice) -> None:
    text = "".join(chr(each) for each in dice.integers(48, 91, size=12))
    size = dice.uniform(0.5, 1.6)
    dark, thick = dice.uniform(10, 240), int(dice.integers(1, 4))
    font = cv2.FONT_HERSHEY_SIMPLEX
    cv2.putText(picture, text, _spot(dice), font, size, dark, thick, cv2.LINE_AA)


def _dirty(picture: Grey, share: float, dice: Dice) -> Grey:
    """So much of the label under smears."""
    spoilt, covered = picture.copy(), np.zeros(picture.shape, np.uint8)
    high, wide = picture.shape
    while covered.mean() < share:
        at = (int(dice.integers(wide)), int(dice.integers(high)))
        size = (
            int(dice.uniform(0.002, 0.03) * wide),
            int(dice.uniform(0.002, 0.02) * wide),
        )
        turn, dark = dice.uniform(0, 180), dice.uniform(0.1, 0.9)
        cv2.ellipse(covered, at, size, turn, 0, 360, 1, -1)
        cv2.ellipse(spoilt, at, size, turn, 0, 360, dark, -1)
    return spoilt


def _where(
    subject: Label, module: float, level: int, dice: Dice
) -> NDArray[np.float64]:
    """The homography of fine label pixels to picture pixels, through a pinhole."""
    ranges = LEVELS[level - 1]
    turn = math.radians(dice.uniform(-ranges.turn, ranges.turn))
    if level == 2 and dice.random() < UPSIDE_DOWN:
        turn += math.pi
    axis = dice.uniform(0, 2 * math.pi)
    tilt = math.radians(dice.uniform(*ranges.tilt))
    lean, _ = cv2.Rodrigues(np.array([math.cos(axis), math.sin(axis), 0.0]) * tilt)
    spin, _ = cv2.Rodrigues(np.array([0.0, 0.0, turn]))
    far = FOCAL * subject.module / module
    high, wide = subject.picture.shape
    plane = (lean @ spin)[:, :2]
    pose = np.column_stack((plane, (0.0, 0.0, far)))
    pose = pose @ np.array([[1, 0, -wide / 2], [0, 1, -high / 2], [0, 0, 1.0]])
    return _within(np.diag((FOCAL, FOCAL, 1.0)) @ pose, (wide, high), dice)


def _within(
    lens: NDArray[np.float64], size: tuple[int, int], dice: Dice
) -> NDArray[np.float64]:
    """Moved so that the whole label is in the picture, anywhere in it."""
    wide, high = size
    corners = np.array([[[0, 0], [wide, 0], [wide, high], [0, high]]], np.float64)
    seen = cv2.perspectiveTransform(corners, lens)[0]
    low, top = seen.min(axis=0), seen.max(axis=0)
    room = np.maximum(np.array([WIDTH, HEIGHT]) - (top - low) - 8, 0)
    move = dice.uniform(0, 1, 2) * room + 4 - low
    return np.array([[1, 0, move[0]], [0, 1, move[1]], [0, 0, 1.0]]) @ lens


def _pasted(
    picture: Grey, subject: Grey, where: NDArray[np.float64], shrink: float
) -> Grey:
    """The label in the picture, each pixel the mean of what it covers."""
    if shrink < 1:
        small = cv2.resize(
            subject, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA
        )
    else:
        small, shrink = subject, 1.0
    doubled = np.diag((2.0, 2.0, 1.0)) @ where @ np.diag((1 / shrink, 1 / shrink, 1.0))
    twice = (WIDTH * 2, HEIGHT * 2)
    seen = cv2.warpPerspective(small, doubled, twice)
    mask = cv2.warpPerspective(np.ones_like(small), doubled, twice)
    seen, mask = (
        cv2.resize(each, (WIDTH, HEIGHT), interpolation=cv2.INTER_AREA)
        for each in (seen, mask)
    )
    return np.asarray(picture * (1 - mask) + seen * 0.92 + 0.03 * mask, np.float32)


def _taken(picture: Grey, level: Level, module: float, dice: Dice) -> bytes:
    """Light, then lens and hand, then the sensor, then the file."""
    contrast = dice.uniform(*level.contrast)
    lit = (picture - 0.5) * contrast + 0.5
    lit = lit * _light(dice.uniform(*level.fall), dice)
    seen = _blurred(lit, max(0.05, dice.uniform(*level.blur) * module))
    seen = _moved(seen, dice.uniform(*level.motion) * module, dice)
    noise = dice.normal(0, dice.uniform(*level.noise), seen.shape)
    bytes_of = np.clip(seen * 255 + noise, 0, 255).astype(np.uint8)
    quality = int(dice.integers(level.quality[0], level.quality[1] + 1))
    _, data = cv2.imencode(".jpg", bytes_of, [cv2.IMWRITE_JPEG_QUALITY, quality])
    return bytes(data)


def _light(fall: float, dice: Dice) -> Grey:
    """It falls off to one side; often there is a shadow's edge or a glare."""
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)
    x, y = x / WIDTH - 0.5, y / HEIGHT - 0.5
    angle = dice.uniform(0, 2 * math.pi)
    light = 1 - fall * (0.5 + (x * math.cos(angle) + y * math.sin(angle)) / 1.42)
    what, other = dice.random(), dice.uniform(0, 2 * math.pi)
    middle = dice.uniform(-0.3, 0.3, 2)
    if what < 0.35:
        side = (x - middle[0]) * math.cos(other) + (y - middle[1]) * math.sin(other)
        light = light * (1 - fall * 0.7 / (1 + np.exp(-np.clip(side * 60, -50, 50))))
    elif what < 0.6:
        near = (x - middle[0]) ** 2 + (y - middle[1]) ** 2
        light = light + fall * np.exp(-near / 0.02)
    return np.asarray(light, np.float32)


def _moved(picture: Grey, length: float, dice: Dice) -> Grey:
    """Smeared along a line of so many pixels."""
    angle = dice.uniform(0, math.pi)
    if length < 0.3:
        return picture
    size = 2 * math.ceil(length / 2) + 3
    kernel = np.zeros((size, size), np.float32)
    for along in np.linspace(-length / 2, length / 2, 65):
        x, y = size // 2 + along * math.cos(angle), size // 2 + along * math.sin(angle)
        left, top = int(x), int(y)
        for dx, dy in ((0, 0), (1, 0), (0, 1), (1, 1)):
            share = (1 - abs(x - left - dx)) * (1 - abs(y - top - dy))
            kernel[top + dy, left + dx] += share
    moved = cv2.filter2D(picture, -1, kernel / kernel.sum())
    return np.asarray(moved, np.float32)
