"""Sizes as the trade writes them: fractions, decimals, and what one piece weighs."""

import math
import re
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.reading import Reading
from inventory.trade.spelling import plain

MM_PER_INCH = Fraction(254, 10)
MASS_MARK = "computed, from head dimensions given from memory"

# A universal head fills about three quarters of the cylinder around it: a guess that
# stands in for the head's curve.
_UNIVERSAL_FILL = 0.75
_MG_PER_CUBIC_INCH = 25.4**3
_DENOMINATORS = (2, 4, 8, 16, 32, 64)
_SIZE = re.compile(
    r"(?:(?:(?P<whole>\d{1,3})[ -])?(?P<over>\d{1,3})/(?P<under>\d{1,2})"
    r"|(?P<decimal>\d{0,3}\.\d{1,6}|\d{1,3}))"
    r"\s*(?P<unit>\"|IN\.?|INCH|MM)?",
    re.ASCII,
)


def print_size(inches: Fraction) -> str:
    """Inches as '3/32' or '1 1/4'; as a decimal ('.063') off the sixty-fourths."""
    if 64 % inches.denominator:
        return print_decimal(inches, places=4).rstrip("0").removeprefix("0")
    whole, rest = divmod(inches, 1)
    if not rest:
        return str(whole)
    return f"{whole} {rest}" if whole else str(rest)


def print_decimal(inches: Fraction, places: int = 4) -> str:
    """Inches as a decimal, the half rounded up: '0.0938'."""
    scaled = math.floor(inches * 10**places + Fraction(1, 2))
    whole, rest = divmod(scaled, 10**places)
    return f"{whole}.{rest:0{places}d}"


def parse_size(text: str) -> Fraction:
    """Exact inches from '3/32', '.125', '1 1/4', '1-1/4', '3/32\"' or '2.5 mm'.

    Raises Refused size.unknown for anything else, a nought or a fraction that no
    rule carries (thirds, 9/8 after a whole number).
    """
    match = _SIZE.fullmatch(plain(text))
    size = _size_of(match) if match else None
    if match is None or not size:
        expected = "a size such as 3/32, .125, 1 1/4 or 2.5 mm"
        raise Refused(
            "size.unknown",
            f"Expected {expected}; got '{text}'.",
            {"text": text, "expected": expected},
        )
    return size / MM_PER_INCH if match["unit"] == "MM" else size


def _size_of(match: re.Match[str]) -> Fraction | None:
    if match["decimal"]:
        return Fraction(match["decimal"])
    over, under = int(match["over"]), int(match["under"])
    if under not in _DENOMINATORS or (match["whole"] and over >= under):
        return None
    return int(match["whole"] or 0) + Fraction(over, under)


def piece_mass_mg(reading: Reading) -> float | None:
    """What one solid rivet weighs, in milligrams; None where the head is not known.

    Computed from the shank, the head's shape and the alloy's density. The head's
    dimensions are from memory (MASS_MARK): an estimate, to be replaced by a sample.
    """
    if reading.kind != "solid_rivet" or not reading.diameter_in:
        return None
    diameter = reading.diameter_in
    head = tables.index("rivet_heads", "key", "diameter_32nds").get(
        (reading.key[:7], str(diameter * 32))
    )
    if head is None or reading.length_in is None:
        return None
    density = tables.index("rivet_alloys", "letter")[(reading.alloy,)]["density_g_cm3"]
    volume = _volume(reading, float(head["head_diameter_in"]), head["head_height_in"])
    return volume * _MG_PER_CUBIC_INCH * float(density)


def _volume(reading: Reading, across: float, height_text: str) -> float:
    """Cubic inches of shank and head; a flush head is part of the length."""
    shank, length = float(reading.diameter_in or 0), float(reading.length_in or 0)
    height = float(height_text)
    if reading.head == "flush":
        cone = math.pi / 12 * height * (across**2 + across * shank + shank**2)
        return cone + math.pi / 4 * shank**2 * max(length - height, 0.0)
    head = _UNIVERSAL_FILL * math.pi / 4 * across**2 * height
    return head + math.pi / 4 * shank**2 * length
