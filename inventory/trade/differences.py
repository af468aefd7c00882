"""How one fastener differs from another, in the words of a bench."""

from decimal import Decimal
from fractions import Fraction
from typing import Protocol

from inventory.trade.sizes import print_size

SOFT = "A"
# A length's step is a sixteenth; a dash may also name half of one.
_HALF_STEP = Fraction(1, 32)
_LONGEST_ALIKE = 2


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

    The same head and shank, and either one length or less apart, or of another alloy.
    """
    if (this.kind, this.head) != (other.kind, other.head) or not this.head:
        return False
    if this.diameter_in is None or this.diameter_in != other.diameter_in:
        return False
    if this.alloy == other.alloy:
        return 0 < abs(_steps(this, other)) <= _LONGEST_ALIKE
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


def _steps(this: Shaped, other: Shaped) -> int:
    """Half lengths that this one is longer."""
    if this.length_in is None or other.length_in is None:
        return 0
    apart = Fraction(this.length_in) - Fraction(other.length_in)
    return round(apart / _HALF_STEP)


def _length(this: Shaped, other: Shaped) -> str:
    steps = _steps(this, other)
    if not steps:
        return ""
    way = "longer" if steps > 0 else "shorter"
    whole, half = divmod(abs(steps), 2)
    if not whole:
        return f"half a length {way}"
    if whole == 1:
        return f"{'one and a half lengths' if half else 'a length'} {way}"
    return f"{whole}{' and a half' if half else ''} lengths {way}"
