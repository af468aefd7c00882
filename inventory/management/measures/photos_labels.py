"""Labels as a printer leaves them: the seeded photo set's subjects.

A label is 50 x 25 mm, drawn in whole printer dots at FINE pixels a dot, 0 black and 1
white; ink spreads or thins every edge alike.
"""

from dataclasses import dataclass
from statistics import NormalDist

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.labels.rules.symbols import bar_modules, square_modules
from inventory.trade import codes

FINE = 4
WIDTH_MM, HEIGHT_MM = 50.0, 25.0
# Dots an inch; dots a bar module and a square module.
PRINTERS = ((203, 2, 3), (203, 3, 3), (203, 3, 4), (300, 3, 4), (300, 4, 5))
LONG_PRINTERS = ((203, 2, 3), (300, 3, 4))  # twelve characters fit no wider module
INK = (-0.08, 0.15)  # what an edge pair gains, in modules
# How soft the printed edge is, in fine pixels, and how steep it is drawn again.
SOFT, STEEP = 1.5, 3.0
ALPHANUMERIC = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"

Grey = NDArray[np.float32]


@dataclass(frozen=True)
class Label:
    """A printed label: its picture, its payloads, fine pixels a module of its symbol."""

    picture: Grey
    payloads: frozenset[str]
    module: int


def label(kind: str, dice: np.random.Generator) -> Label:
    """A label of a kind: 'c128s', 'c128l', 'qr' or 'both'."""
    printers = LONG_PRINTERS if kind == "c128l" else PRINTERS
    dpi, bar, square = printers[dice.integers(len(printers))]
    page = _blank(dpi)
    code = long_code(dice) if kind == "c128l" else own_code(dice)
    payloads, module = set(), bar
    if kind != "qr":
        payloads.add(code)
        _bars(page, code, bar * FINE)
    if kind in ("qr", "both"):
        address = f"HTTP://SHOP.LOCAL/S/{code}"
        payloads.add(address)
        _squares(page, address, square * FINE)
    if kind == "qr":
        module = square
    _words(page, code, dice)
    return Label(_inked(page, module * FINE, dice), frozenset(payloads), module * FINE)


def own_code(dice: np.random.Generator) -> str:
    """Any code of the shop's own."""
    letter = "BTSCNPHRK"[dice.integers(9)]
    return codes.make(letter, int(dice.integers(10_000)))


def long_code(dice: np.random.Generator) -> str:
    """Twelve characters, the last their MOD 37,36 check."""
    body = "".join(ALPHANUMERIC[at] for at in dice.integers(36, size=11))
    # A leading pair of nines is dropped by the bars' own library.
    body = "8" + body[1:] if body.startswith("99") else body
    return body + codes.mod_37_36_check(body)


def _blank(dpi: int) -> NDArray[np.uint8]:
    dots = [round(side * dpi / 25.4) for side in (HEIGHT_MM, WIDTH_MM)]
    return np.full((dots[0] * FINE, dots[1] * FINE), 255, np.uint8)


def _bars(page: NDArray[np.uint8], code: str, module: int) -> None:
    """A third of the height at the foot, in the middle of the width."""
    row = np.array([each == "0" for each in bar_modules(code)], np.uint8) * 255
    row = np.repeat(row, module)
    left = (page.shape[1] - len(row)) // 2
    foot = page.shape[0]
    page[int(foot * 0.58) : int(foot * 0.92), left : left + len(row)] = row


def _squares(page: NDArray[np.uint8], address: str, module: int) -> None:
    """At the top right, its quiet zone within the label."""
    dark = np.array(square_modules(address), np.uint8)
    cells = np.kron((1 - dark) * 255, np.ones((module, module), np.uint8))
    quiet = 4 * module
    left = page.shape[1] - quiet - len(cells)
    top = min(quiet, max(module, (page.shape[0] * 57 // 100 - len(cells)) // 2))
    page[top : top + len(cells), left : left + len(cells)] = cells


def _words(page: NDArray[np.uint8], code: str, dice: np.random.Generator) -> None:
    """A name and the code in the clear, at the left of the top half."""
    name = (
        f"{dice.integers(2, 10)}/32 {('flush', 'universal', 'step')[dice.integers(3)]}"
    )
    size = page.shape[0] / 520
    for line, text in enumerate((name, code)):
        at = (page.shape[1] // 25, int(page.shape[0] * (0.2 + 0.2 * line)))
        cv2.putText(
            page, text, at, cv2.FONT_HERSHEY_SIMPLEX, size, 0, round(size * 3) + 1
        )


def _inked(page: NDArray[np.uint8], module: int, dice: np.random.Generator) -> Grey:
    """Every dark edge moved out, or in, by half of what an edge pair gains."""
    out = dice.uniform(*INK) * module / 2
    soft = cv2.GaussianBlur(page.astype(np.float32) / 255, (0, 0), SOFT)
    level = NormalDist().cdf(out / SOFT)
    return np.asarray(np.clip((soft - level) * STEEP + 0.5, 0, 1), np.float32)
