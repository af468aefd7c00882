"""A look into a bin: roughly how many are in it, seen and not counted.

What was seen is weighed against what the record says by how far each may be off. The
weights are those of two independent normal errors; see JCGM 100:2008 (GUM), annex H
(from memory). The shares are guesses: common practice, no source.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import hypot

from inventory.errors import Refused
from inventory.ledger.rules import ABOUT_SHARE, checked_quantity

# Whoever sees a bin nearly empty sees so many at most; none of these numbers is likelier.
NEARLY_EMPTY = 25
_FEW_OFF = NEARLY_EMPTY / 12**0.5
# 'Plenty' says that not even half of what the record says is lacking: two deviations.
_PLENTY = 4
# What was seen contradicts the record beyond so many deviations of their difference.
_CONTRADICTS = 2.5


class Sight(StrEnum):
    """What somebody says who looked into a bin. Who sees it empty has counted it."""

    ABOUT = "about"
    EMPTY = "empty"
    FEW = "few"
    PLENTY = "plenty"


@dataclass(frozen=True)
class Seen:
    """What was seen in a bin: a sight, and for 'about' the pieces.

    Errors: `ledger.quantity` for 'about' without a whole number from 1 on.
    """

    sight: Sight
    pieces: int = 0

    def __post_init__(self) -> None:
        if self.sight is Sight.ABOUT:
            checked_quantity(self.pieces)

    @property
    def units(self) -> int | None:
        """About how many that are; None for plenty, which names no number."""
        return {
            Sight.ABOUT: self.pieces,
            Sight.EMPTY: 0,
            Sight.FEW: NEARLY_EMPTY // 2,
            Sight.PLENTY: None,
        }[self.sight]

    def __str__(self) -> str:
        return {
            Sight.ABOUT: f"about {self.pieces:,}",
            Sight.EMPTY: "empty",
            Sight.FEW: "nearly empty",
            Sight.PLENTY: "plenty",
        }[self.sight]


@dataclass(frozen=True)
class Looked:
    """What a look leaves: the number it states, None where the record stands; its doubt.

    Both in units; the doubt is a standard deviation.
    """

    stated: int | None
    doubt: float


def looked(seen: Seen, held: int, doubt: float) -> Looked:
    """What is believed of a bin that should hold `held`, give or take `doubt`.

    A look that agrees leaves the record as it is, and surer. Where the number between
    them is off by more than what is left of the doubt, that number is stated. A look that
    contradicts is believed alone: what puts a record far off (a forgotten pull, a wrong
    tin) is rare and large. Errors: `ledger.look` for plenty where the record has next to
    nothing.
    """
    pieces = seen.units
    if pieces is None:
        return Looked(None, min(doubt, _plenty(held) / _PLENTY))
    off = _FEW_OFF
    if seen.sight is Sight.ABOUT:
        off = max(1.0, ABOUT_SHARE * pieces)
    apart = hypot(off, doubt)
    if abs(pieces - held) > _CONTRADICTS * apart:
        return Looked(pieces, off)
    left = off * doubt / apart
    between = round(held + (doubt / apart) ** 2 * (pieces - held))
    return Looked(None if abs(between - held) <= left else between, left)


def _plenty(held: int) -> int:
    if held <= NEARLY_EMPTY:
        raise Refused(
            "ledger.look",
            f"The record holds {held:,} there: say about how many you see, or count "
            "them. Nothing was noted.",
            {"held": held},
        )
    return held
