"""Code 128 and QR as dark boxes on the printer's own dots.

A page describes fills that paint every dot they touch, so a bar exactly as wide as its
dots comes out one dot wider. Modules are therefore whole dots, the first bar is snapped
to a dot, and every bar is drawn a tenth of a dot narrower on each side (measured on two
renderers; more than a quarter of a dot is too much).
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import zxingcpp
from barcode.codex import Code128

from inventory.errors import Refused
from inventory.labels.rules.sheets import POINTS_PER_MM

INSET_DOTS = 0.1
DARK = 128
DPI = (203, 300, 600)
# What phones and hand scanners read at arm's length: a module of about 0.34 mm for
# bars and 0.42 mm for squares (measured on rendered pages).
BAR_MM, SQUARE_MM = 0.339, 0.423
QUIET_BARS, QUIET_SQUARES = 10, 4


class Box(NamedTuple):
    """A dark rectangle: points from the page's bottom left corner."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Dots:
    """A printer's dot grid."""

    dpi: int

    def __post_init__(self) -> None:
        if self.dpi not in DPI:
            raise Refused(
                "labels.dpi",
                "Printers have 203, 300 or 600 dots an inch: choose one of these.",
                {"dpi": self.dpi},
            )

    @property
    def point(self) -> float:
        """One dot in points."""
        return 72 / self.dpi

    def nearest(self, points: float) -> int:
        """The dot next to a place."""
        return round(points / self.point)

    def module(self, wanted_mm: float) -> int:
        """Whole dots next to a module of so many millimetres, one at least."""
        return max(1, self.nearest(wanted_mm * POINTS_PER_MM))


def bar_modules(text: str) -> str:
    """The modules of a Code 128, '1' for dark; a fresh object each time."""
    return str(Code128(text).build()[0])


def square_modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """The modules of a QR code without its quiet zone, error level M."""
    code = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, ec_level="M")
    image: Any = code.to_image(scale=1, add_quiet_zones=False, add_hrt=False)
    rows: Any = memoryview(image).tolist()
    return tuple(tuple(shade < DARK for shade in row) for row in rows)


def bars(
    modules: str, x: float, y: float, height: float, size: int, dots: Dots
) -> list[Box]:
    """The bars of a symbol whose first module starts at the dot nearest to x."""
    first = dots.nearest(x)
    bottom, top = dots.nearest(y), dots.nearest(y + height)
    return [
        _box((first + at * size, bottom), (length * size, top - bottom), dots)
        for at, length in _runs([module == "1" for module in modules])
    ]


def squares(
    modules: Sequence[Sequence[bool]], x: float, y: float, size: int, dots: Dots
) -> list[Box]:
    """The dark squares, as runs along both ways so that no gap is left between."""
    left, bottom = dots.nearest(x), dots.nearest(y)
    rows = len(modules)
    found = []
    for at, row in enumerate(modules):
        level = bottom + (rows - 1 - at) * size
        for start, length in _runs(row):
            found.append(
                _box((left + start * size, level), (length * size, size), dots)
            )
    for at, column in enumerate(zip(*modules, strict=True)):
        for start, length in _runs(column):
            if length > 1:
                level = bottom + (rows - start - length) * size
                found.append(
                    _box((left + at * size, level), (size, length * size), dots)
                )
    return found


_DARK_RUN = re.compile(b"\x01+")


def _runs(cells: Sequence[bool]) -> Iterator[tuple[int, int]]:
    """Start and length of every run of dark cells."""
    for run in _DARK_RUN.finditer(bytes(cells)):
        yield run.start(), run.end() - run.start()


def _box(corner: tuple[int, int], size: tuple[int, int], dots: Dots) -> Box:
    point, inset = dots.point, INSET_DOTS
    return Box(
        (corner[0] + inset) * point,
        (corner[1] + inset) * point,
        (size[0] - 2 * inset) * point,
        (size[1] - 2 * inset) * point,
    )
