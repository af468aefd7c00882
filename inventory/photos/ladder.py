"""The steps from a picture to the codes in it, cheap ones first.

The easy steps always run, so that several labels in one picture are all found; the
harder ones only while nothing is believed.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import cv2
import numpy as np

from inventory.photos import bars, squares
from inventory.photos.engines import zbar, zxing
from inventory.photos.locating import Edges, Region, crop
from inventory.photos.pictures import Grey, grey, opened
from inventory.photos.witnesses import Seen, Sighting

# Below this many pixels on the longer side a picture is not halved.
SMALL = 1400
# A quiet zone around a region; how much averaged bars, and others, are enlarged.
QUIET, BAR_SCALE, SCALE = 0.08, 3.0, 2.0
# Shares of the densest edges that bound a region: whole labels, then single symbols.
DENSE, DENSER, DENSEST = 0.45, 0.6, 0.75
# Larger symbols, in pixels, have pixels enough to be read as they are.
LARGEST_SQUARE, LARGEST_BARS = 260, 900
RESIZED = 0.7
# Fewer pixels a side hold no label; in more pixels than this only the easy steps are
# taken, for which such a picture is sharp enough.
LEAST_SIDE, MOST_HARD = 24, 16_000_000

cv2.setNumThreads(1)


def decode(data: bytes, *, receiving: bool = False) -> list[dict[str, str]]:
    """The believed payloads of a picture, as `Seen.answer` gives them.

    Raises Unusable.
    """
    seen = Seen(receiving)
    parts = (2, 1) if max(opened(data).size) >= SMALL else (1,)
    views = []
    for part in parts:
        views.append(View(grey(data, part), part, receiving))
        for readings in views[-1].easy(seen):
            seen.note(readings)
        if seen.believed():
            return seen.answer()
    for view in views:
        if view.picture.size > MOST_HARD:
            break
        for readings in view.hard():
            seen.note(readings)
            if seen.believed():
                return seen.answer()
    return seen.answer()


@dataclass
class View:
    """A picture at one part-th of its size, and the steps on it."""

    picture: Grey
    part: int
    receiving: bool

    @cached_property
    def edges(self) -> Edges:
        return Edges.of(self.picture)

    def _regions(self, share: float) -> list[Region]:
        small = min(self.picture.shape) < LEAST_SIDE
        return [] if small else self.edges.regions(share)

    def easy(self, seen: Seen) -> Iterator[list[Sighting]]:
        """The whole picture, then every region in which nothing is believed yet."""
        whole = zxing(self.picture, "whole", receiving=self.receiving)
        yield self._full_size(whole)
        if self.receiving:
            yield self._resized()
        for region in self._regions(DENSE):
            if not any(region.holds(self._here(each)) for each in seen.believed()):
                yield self._straight(region)

    def hard(self) -> Iterator[list[Sighting]]:
        """Regions averaged or redrawn, wide ones and tight ones; the second reader."""
        for share in (DENSEST, DENSER, DENSE):
            for region in self._regions(share):
                if share != DENSE:  # those were straightened already
                    yield self._straight(region)
                if region.bars:
                    yield self._averaged(region)
                elif share != DENSEST:  # too tight for the finders in the corners
                    yield self._redrawn(region)
        yield self._full_size(zbar(self.picture, "whole"))
        for region in self._regions(DENSER):
            yield self._second(region)

    def _resized(self) -> list[Sighting]:
        """A second witness to the large bars of a bag, which no region finds."""
        small = cv2.resize(
            self.picture, None, fx=RESIZED, fy=RESIZED, interpolation=cv2.INTER_AREA
        )
        found = zxing(np.asarray(small, np.uint8), "resized", receiving=True)
        return self._full_size(_scaled(each, 1 / RESIZED) for each in found)

    def _straight(self, region: Region) -> list[Sighting]:
        straight = crop(self.picture, region.padded(QUIET), SCALE)
        if straight is None:
            return []
        found = zxing(straight.pixels, "straight", receiving=self.receiving)
        return self._full_size(map(straight.in_picture, found))

    def _averaged(self, region: Region) -> list[Sighting]:
        wider = replace(region, width=region.width + 30)
        straight = crop(self.picture, wider, BAR_SCALE)
        if straight is None or region.width > LARGEST_BARS:
            return []
        found = zxing(bars.redrawn(straight.pixels), "averaged")
        return self._full_size(_placed(found, region))

    def _redrawn(self, region: Region) -> list[Sighting]:
        """Until one of the clean pictures is read."""
        straight = crop(self.picture, region.padded(QUIET), SCALE)
        if straight is None or max(region.width, region.height) > LARGEST_SQUARE:
            return []
        for clean in squares.redrawn(straight.pixels):
            found = zxing(clean, "redrawn", pure=True)
            if found:
                return self._full_size(_placed(found, region))
        return []

    def _second(self, region: Region) -> list[Sighting]:
        straight = crop(self.picture, region.padded(QUIET), BAR_SCALE)
        if straight is None or region.width > LARGEST_BARS:
            return []
        found = zbar(straight.pixels, "straight")
        return self._full_size(map(straight.in_picture, found))

    def _full_size(self, readings: Iterable[Sighting]) -> list[Sighting]:
        """In the pixels of the whole picture, where witnesses are compared."""
        return [_scaled(each, self.part) for each in readings]

    def _here(self, reading: Sighting) -> tuple[float, float]:
        x, y = reading.middle
        return x / self.part, y / self.part


def _placed(readings: list[Sighting], region: Region) -> list[Sighting]:
    """A region's readings, where its own pixels no longer say where."""
    return [
        replace(each, middle=region.middle, length=region.width) for each in readings
    ]


def _scaled(reading: Sighting, by: float) -> Sighting:
    x, y = reading.middle
    return replace(reading, middle=(x * by, y * by), length=reading.length * by)
