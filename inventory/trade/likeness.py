"""What looks like what, and how one fastener differs from another, in a bench's words."""

from decimal import Decimal
from fractions import Fraction
from typing import Protocol

from inventory.trade.sizes import print_size

SOFT = "A"
# A rivet's length goes by sixteenths, and a dash may name half of one; a bolt's goes by
# eighths. So far apart, in inches, a hurried hand takes one for the other.
_HALF_STEP, _ALIKE = Fraction(1, 32), Fraction(1, 16)
_ALIKE_OF = {"bolt": Fraction(1, 8)}


class Shaped(Protocol):
    """What tells fasteners apart: a callout's reading, or a stocked item. Inches."""

    @property
    def kind(self) -> str: ...
    @property
    def head(self) -> str: ...
    @property
    def alloy(self) -> str: ...
    @property
    def diameter_in(self) -> Fraction | Decimal | None: ...
    @property
    def length_in(self) -> Fraction | Decimal | None: ...


def difference(this: Shaped, other: Shaped) -> str:
    """What is different about this one: 'half a length longer', 'flush, not universal'.

    Empty where nothing known tells them apart.
    """
    said = [
        _diameter(this, other),
        _plain(this.head, other.head),
        _alloy(this.alloy, other.alloy),
        _length(this, other),
    ]
    return "; ".join(part for part in said if part)


def are_alike(this: Shaped, other: Shaped) -> bool:
    """Whether a hurried hand takes one for the other.

    The same head and shank, and either one length or less apart, or of another alloy:
    for the bench, the doubt of a count, closing and the pages alike.
    """
    if (this.kind, this.head) != (other.kind, other.head) or not this.head:
        return False
    if this.diameter_in is None or this.diameter_in != other.diameter_in:
        return False
    if this.alloy == other.alloy:
        return 0 < abs(_longer(this, other)) <= _ALIKE_OF.get(this.kind, _ALIKE)
    return this.length_in == other.length_in


def _diameter(this: Shaped, other: Shaped) -> str:
    if this.diameter_in is None or other.diameter_in is None:
        return ""
    if this.diameter_in == other.diameter_in:
        return ""
    sizes = (print_size(Fraction(each.diameter_in or 0)) for each in (this, other))
    return ", not ".join(sizes)


def _plain(this: str, other: str) -> str:
    if this == other or not this or not other:
        return ""
    return f"{this.replace('_', ' ')}, not {other.replace('_', ' ')}"


def _alloy(this: str, other: str) -> str:
    if this == other or not this or not other:
        return ""
    return f"{_alloy_words(this)}, not {_alloy_words(other)}"


def _alloy_words(alloy: str) -> str:
    return "soft alloy (A)" if alloy == SOFT else f"alloy {alloy}"


def _longer(this: Shaped, other: Shaped) -> Fraction:
    """Inches that this one is longer, to the nearest half length."""
    if this.length_in is None or other.length_in is None:
        return Fraction(0)
    apart = Fraction(this.length_in) - Fraction(other.length_in)
    return round(apart / _HALF_STEP) * _HALF_STEP


def _length(this: Shaped, other: Shaped) -> str:
    apart = _longer(this, other)
    if not apart:
        return ""
    way = "longer" if apart > 0 else "shorter"
    if this.kind in _ALIKE_OF:
        return f"{print_size(abs(apart))} in {way}"
    steps = int(apart / _HALF_STEP)
    whole, half = divmod(abs(steps), 2)
    if not whole:
        return f"half a length {way}"
    if whole == 1:
        return f"{'one and a half lengths' if half else 'a length'} {way}"
    return f"{whole}{' and a half' if half else ''} lengths {way}"
