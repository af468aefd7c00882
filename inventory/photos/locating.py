"""Where in a picture a label may be: dense edges, and which way they run."""

import math
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.photos.pictures import Grey
from inventory.photos.witnesses import Sighting

# Edges are sought at half size, which is enough for bars of one to four pixels, and
# summed over windows a little wider than the widest bar (measured).
HALF, WINDOW = 0.5, 12
MOST, LEAST_AREA = 5, 150
# From this share of edges in one direction on they are bars.
ONE_WAY = 0.35

Floats = NDArray[np.float32]


@dataclass(frozen=True)
class Region:
    """A rectangle in picture pixels, its width across the bars; degrees of its turn.

    `one_way` is the share of its edges that run alike: near 1 for bars, 0 for squares.
    """

    middle: tuple[float, float]
    width: float
    height: float
    turn: float
    one_way: float

    @property
    def bars(self) -> bool:
        return self.one_way >= ONE_WAY

    def holds(self, point: tuple[float, float]) -> bool:
        """Whether a point is inside."""
        x, y = point[0] - self.middle[0], point[1] - self.middle[1]
        turn = math.radians(self.turn)
        across = x * math.cos(turn) + y * math.sin(turn)
        along = y * math.cos(turn) - x * math.sin(turn)
        return abs(across) <= self.width / 2 and abs(along) <= self.height / 2

    def padded(self, share: float) -> "Region":
        """Wider on every side by a share of the longer one."""
        more = 2 * share * max(self.width, self.height)
        return replace(self, width=self.width + more, height=self.height + more)


@dataclass(frozen=True)
class Crop:
    """A region straightened and enlarged."""

    pixels: Grey
    region: Region
    scale: float
    back: NDArray[np.float64]

    def in_picture(self, reading: Sighting) -> Sighting:
        """A reading of the crop in the coordinates of the picture."""
        x, y = self.back @ np.array([*reading.middle, 1.0])
        return replace(
            reading, middle=(float(x), float(y)), length=reading.length / self.scale
        )


def crop(picture: Grey, region: Region, scale: float) -> Crop | None:
    """The region upright at `scale` times its size; None if that is no use."""
    wide, high = int(region.width * scale), int(region.height * scale)
    if min(wide, high) < 12 or wide * high > 4_000_000:
        return None
    turn = math.radians(region.turn)
    c, s = math.cos(turn) / scale, math.sin(turn) / scale
    x, y = region.middle
    back = np.array(
        [
            [c, -s, x - c * wide / 2 + s * high / 2],
            [s, c, y - s * wide / 2 - c * high / 2],
        ]
    )
    pixels = cv2.warpAffine(
        picture,
        back,
        (wide, high),
        flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return Crop(pixels.astype(np.uint8, copy=False), region, scale, back)


@dataclass(frozen=True)
class Edges:
    """A picture's edges at half size: both directions, and how dense they are."""

    across: Floats
    down: Floats
    density: Floats

    @classmethod
    def of(cls, picture: Grey) -> "Edges":
        """Of a picture in grey."""
        small = cv2.resize(
            picture, None, fx=HALF, fy=HALF, interpolation=cv2.INTER_AREA
        )
        across = cv2.Scharr(small, cv2.CV_32F, 1, 0)
        down = cv2.Scharr(small, cv2.CV_32F, 0, 1)
        strength = cv2.magnitude(across, down)
        # One hard edge must not outweigh a label.
        strength = np.minimum(strength, np.percentile(strength[::4, ::4], 99.5))
        once = cv2.blur(strength, (WINDOW, WINDOW))
        found = (across, down, cv2.blur(once, (WINDOW, WINDOW)))
        return cls(*(np.asarray(each, np.float32) for each in found))

    def regions(self, share: float) -> list[Region]:
        """The largest regions denser than a share of the densest."""
        dense = (self.density > share * self.density.max()).astype(np.uint8)
        _, labels, stats, _ = cv2.connectedComponentsWithStats(dense)
        order = np.argsort(-stats[1:, 4])[:MOST] + 1
        return [
            self._region(labels, stats[at], at)
            for at in order
            if stats[at, 4] >= LEAST_AREA
        ]

    def _region(
        self, labels: NDArray[np.int32], box: NDArray[np.int32], at: int
    ) -> Region:
        x, y, wide, high = (int(each) for each in box[:4])
        part = (slice(y, y + high), slice(x, x + wide))
        inside = labels[part] == at
        turn, one_way = _direction(self.across[part][inside], self.down[part][inside])
        rows, columns = np.nonzero(inside)
        c, s = math.cos(turn), math.sin(turn)
        u, v = columns * c + rows * s, rows * c - columns * s
        u0, u1, v0, v1 = u.min(), u.max(), v.min(), v.max()
        middle_u, middle_v = (u0 + u1) / 2, (v0 + v1) / 2
        return Region(
            (
                float(middle_u * c - middle_v * s + x) / HALF,
                float(middle_u * s + middle_v * c + y) / HALF,
            ),
            float(u1 - u0) / HALF,
            float(v1 - v0) / HALF,
            math.degrees(turn),
            one_way,
        )


def _direction(across: Floats, down: Floats) -> tuple[float, float]:
    """Radians of the way across the edges, and the share of them that agree.

    Doubled angles make opposite edges one; quadrupled ones both ways of squares.
    """
    edges = across + 1j * down
    strength = np.abs(edges) + 1e-9
    total = strength.sum()
    doubled = (edges**2 / strength).sum()
    one_way = float(abs(doubled) / total)
    if one_way >= ONE_WAY:
        return float(np.angle(doubled)) / 2, one_way
    return float(np.angle((edges**4 / strength**3).sum())) / 4, one_way
