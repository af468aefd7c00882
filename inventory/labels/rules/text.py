"""Text that shrinks and wraps until it fits: nothing is ever clipped."""

import re
from dataclasses import dataclass
from functools import lru_cache

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

LEADING = 1.14
SHRINK = 0.95
# Below this size a long word may be broken; above it the text shrinks instead.
BREAK_BELOW = 6.5
PLAIN, BOLD = "Helvetica", "Helvetica-Bold"
# For what the plain fonts have no letters for; both come with the PDF writer.
_WIDE = {PLAIN: "Vera", BOLD: "VeraBd"}

# A number and its unit stay on one line.
_BEFORE_A_UNIT = re.compile(r"(?<=\d) (?=(?:mm|in|g|ml)\b)")
_GLUE = "\N{NO-BREAK SPACE}"
_FONTS = {name: TTFont(name, f"{name}.ttf") for name in _WIDE.values()}
for _font in _FONTS.values():
    pdfmetrics.registerFont(_font)


@dataclass(frozen=True)
class TextLine:
    """One line: points from the page's bottom left corner to its baseline."""

    text: str
    x: float
    y: float
    font: str
    size: float

    @property
    def width(self) -> float:
        """As printed, in points."""
        return width(self.text, self.font, self.size)


def width(text: str, font: str, size: float) -> float:
    """Points a text takes."""
    return _width_at_one(text, font) * size


@lru_cache(maxsize=4096)
def _width_at_one(text: str, font: str) -> float:
    """Kept, because text that shrinks until it fits is measured at many sizes."""
    return float(pdfmetrics.stringWidth(text, font, 1))


def clean(text: str) -> str:
    """One line of printable characters, whatever was typed."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def dressed(text: str, font: str) -> tuple[str, str]:
    """The text and the font that has its letters; a letter in neither becomes '?'."""
    try:
        text.encode("cp1252")
    except UnicodeEncodeError:
        wide = _WIDE[font]
        known = _FONTS[wide].face.charToGlyph
        return "".join(c if ord(c) in known else "?" for c in text), wide
    return text, font


def fitted(
    text: str,
    box: tuple[float, float, float, float],
    largest: float,
    font: str = PLAIN,
) -> list[TextLine]:
    """Lines inside a box (left, top, width, height in points), from its top down."""
    left, top, across, down = box
    text, font = dressed(clean(text), font)
    if not text:
        return []
    size = largest
    lines = _wrapped(text, font, size, across)
    while lines is None or len(lines) * size * LEADING > down + 1e-9:
        size *= SHRINK
        lines = _wrapped(text, font, size, across)
    return [
        TextLine(line, left, top - size * (0.93 + LEADING * at), font, size)
        for at, line in enumerate(lines)
    ]


def _wrapped(text: str, font: str, size: float, across: float) -> list[str] | None:
    """Words in lines, broken after the first comma where that costs no line."""
    lines = _filled(text, font, size, across)
    head, comma, tail = text.partition(", ")
    if lines is None or len(lines) == 1 or not comma:
        return lines
    first = _filled(f"{head},", font, size, across)
    rest = _filled(tail, font, size, across)
    if first and rest and len(first) + len(rest) <= len(lines):
        return [*first, *rest]
    return lines


def _filled(text: str, font: str, size: float, across: float) -> list[str] | None:
    """Words in lines; None when a word is too long and may not be broken yet."""
    lines = [""]
    for word in _BEFORE_A_UNIT.sub(_GLUE, text).split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if width(longer, font, size) <= across:
            lines[-1] = longer
            continue
        if lines[-1]:
            lines.append("")
        pieces = [word]
        if width(word, font, size) > across:
            if size > BREAK_BELOW:
                return None
            pieces = _broken(word, font, size, across)
        lines[-1:] = pieces
    return [line.replace(_GLUE, " ") for line in lines]


def _broken(word: str, font: str, size: float, across: float) -> list[str]:
    """A word in pieces that fit; a piece has one letter at least."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and width(pieces[-1] + letter, font, size) > across:
            pieces.append("")
        pieces[-1] += letter
    return pieces
