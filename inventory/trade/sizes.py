"""Sizes as the trade writes them: fractions and decimals, read and printed."""

import math
import re
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

from inventory.errors import Refused
from inventory.trade.spelling import plain

MM_PER_INCH = Fraction(254, 10)

_DENOMINATORS = (2, 4, 8, 16, 32, 64)
_SIZE = re.compile(
    r"(?:(?:(?P<whole>\d{1,3})[ -])?(?P<over>\d{1,3})/(?P<under>\d{1,2})"
    r"|(?P<decimal>\d{0,3}\.\d{1,6}|\d{1,3}))"
    r"\s*(?P<unit>\"|IN\.?|INCH|MM)?",
    re.ASCII,
)


@lru_cache(maxsize=4096)
def exact(size: str | int, under: int = 1) -> Fraction:
    """An exact fraction from a table's text, or from a count of its steps.

    Kept, because making one costs more than the rest of reading a callout.
    """
    return Fraction(size) / under


@lru_cache(maxsize=4096)
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


# With how many there are of it before, and its unit after.
_ONE_OR_TWO = re.compile(
    r"([0-9]+ ?[x\u00d7] ?)?([0-9]+,[0-9]+|[0-9]{1,3},[0-9]{3}\.[0-9]+)( ?(mm|in|\"))?",
    re.IGNORECASE,
)


def is_one_or_two(text: str) -> bool:
    """Whether a text of sizes may be one number with a comma, or two: '48,5'."""
    return _ONE_OR_TWO.fullmatch(text.strip()) is not None


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


def nearest_32nd(inches: Fraction) -> str:
    """The rivet's 32nd of an inch next to a size, as people name it: '1/8 (3.175 mm)'."""
    near = Fraction(max(2, int(inches * 32 + Fraction(1, 2))), 32)
    return f"{print_size(near)} ({float(near * MM_PER_INCH):.3f} mm)"


class Lengths(StrEnum):
    """How the lengths among an item's words are said."""

    INCHES = "inches"
    BESIDE = "beside"
    MILLIMETRES = "millimetres"


# A length among an item's words; a thread's '1/4-28' is none, nor what stands in another.
_FRACTION = r"(?:\d{1,2} )?\d{1,2}/(?:2|4|8|16|32|64)"
_LENGTH = re.compile(rf"(?<![\w./-]){_FRACTION}(?![\w/-])")
_BESIDE = re.compile(r" \(\d+\.\d mm\)")
_BEFORE = re.compile(rf"\d+\.\d mm \(({_FRACTION})\)")


def said(words: str, lengths: Lengths) -> str:
    """An item's words in a wording, whichever they are in.

    Millimetres are to a tenth; one inch is 25.4 mm (NIST SP 811). The inches stay beside
    them, as the drawing says those.

    >>> said("3/32 flush, 7/32 long", Lengths.BESIDE)
    '3/32 (2.4 mm) flush, 7/32 (5.6 mm) long'
    >>> said("3/32 (2.4 mm) flush, 7/32 (5.6 mm) long", Lengths.MILLIMETRES)
    '2.4 mm (3/32) flush, 5.6 mm (7/32) long'
    """

    def both(found: re.Match[str]) -> str:
        inches = sum(map(Fraction, found[0].split()))
        tenths = math.floor(inches * MM_PER_INCH * 10 + Fraction(1, 2))
        millimetres = f"{tenths // 10}.{tenths % 10} mm"
        if lengths == Lengths.BESIDE:
            return f"{found[0]} ({millimetres})"
        return f"{millimetres} ({found[0]})"

    plain_words = _BEFORE.sub(r"\1", _BESIDE.sub("", words))
    return plain_words if lengths == Lengths.INCHES else _LENGTH.sub(both, plain_words)
